"""The coupon focus-steps: the marks on its steps, and the stair to print."""
