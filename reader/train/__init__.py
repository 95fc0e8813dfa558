"""What made the models and figures, and measures them; no part of the installed package."""
