"""The roughness classes as printed: ISO 8608:1995/2016, annex table; the limits seen in public program code."""

# Class: lower limit, geometric mean, upper limit of Gd(0.1 c/m) [1e-6 m³]; A and H are open on one side.
CLASSES = {
    "A": (8, 16, 32),
    "B": (32, 64, 128),
    "C": (128, 256, 512),
    "D": (512, 1024, 2048),
    "E": (2048, 4096, 8192),
    "F": (8192, 16384, 32768),
    "G": (32768, 65536, 131072),
    "H": (131072, 262144, 524288),
}
