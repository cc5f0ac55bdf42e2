"""One file a step, in the order that `down_revision` tells."""
