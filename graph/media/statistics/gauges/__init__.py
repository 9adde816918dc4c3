"""What is measured of one frame, a file a gauge: each states its fields of a row, and fills them."""
