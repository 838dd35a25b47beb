"""The coupon that is proposed next."""

import pytest

from preprocess.calibrate.next_coupon.proposal import propose_coupon
from tests.calibrate.fits import fitted


def test_the_next_coupon_can_be_typed_in_and_is_expected_to_tell_more():
    offer = propose_coupon(fitted(5))
    assert 6 <= offer.cells <= 12
    assert offer.after < 0.8 * offer.before
    for layer in offer.asked.layers:
        assert layer.power * 100 == pytest.approx(round(layer.power * 100))
        assert 0 < layer.power <= 1
