"""Focus: how far up and down marks stay sharp, from a stair of known steps."""
