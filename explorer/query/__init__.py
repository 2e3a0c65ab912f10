"""SQL over a library, and the frozen values that come back."""
