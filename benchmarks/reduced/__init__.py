"""A reduced mechanism written twice: in the kernel's style, and as processes in SimPy."""
