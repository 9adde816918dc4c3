"""LUT files read as maths over the primitives, so that they compute, trace and fuse like any node."""
