"""One page to hand over."""
