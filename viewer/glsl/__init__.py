"""The GLSL back end: a chain's program as a fragment shader, so that the desk shows it at once."""
