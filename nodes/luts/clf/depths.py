"""What stands for 1.0 at each depth."""

from typing import Final

# CLF specification v3.0, "Conversion Between Integer and Normalized Float Scaling".
DEPTH_SCALES: Final = {"8i": 255.0, "10i": 1023.0, "12i": 4095.0, "16i": 65535.0, "16f": 1.0, "32f": 1.0}
FLOAT: Final = "32f"
