"""The hot folder: takes finished files, answers each exactly once, and tells in the morning what became of them.

The folder is the truth. It is scanned at the start and on a timer; nothing is believed that cannot be read there. What
is in hand lies in ``OUT/.work``, so that whatever ends the program, the next start knows what was done and what not.
"""
