"""Connected areas, their boxes, and the labels of scattered pixels, against OpenCV's own."""

import cv2
import numpy as np

from preflight.measure.labels import boxes, connected, labelled


def test_boxes_are_those_of_the_library() -> None:
    rng = np.random.default_rng(1)
    for _ in range(200):
        mask = (rng.random(rng.integers(1, 40, 2)) < rng.random()).astype(np.uint8)
        count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=8)
        table = boxes(mask, connected(mask))
        assert np.array_equal(connected(mask), labels)
        assert len(table) == count
        assert np.array_equal(table[1:], stats[1:])


def test_an_empty_mask_has_no_boxes() -> None:
    mask = np.zeros((3, 4), np.uint8)
    assert np.array_equal(boxes(mask, connected(mask)), np.zeros((1, 5), np.int32))


def test_labels_of_scattered_pixels_are_those_of_the_whole_picture() -> None:
    rng = np.random.default_rng(3)
    for _ in range(100):
        mask = np.zeros(rng.integers(1, 90, 2), np.uint8)
        for y, x in rng.integers(0, mask.shape, (rng.integers(1, 6), 2)):
            area = (slice(y, y + 9), slice(x, x + 9))
            mask[area] = rng.random(mask[area].shape) < 0.4
        ys, xs = np.nonzero(mask)
        if len(ys):
            count, labels = cv2.connectedComponents(mask, connectivity=8)
            label, told = labelled(mask, np.flatnonzero(mask), xs, ys)
            assert told == count
            assert np.array_equal(label, labels[ys, xs])
