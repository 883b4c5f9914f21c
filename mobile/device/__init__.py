"""What the tablet itself is: window, settings before the first frame, a finger that can press."""
