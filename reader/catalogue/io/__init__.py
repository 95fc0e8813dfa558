"""What comes in and goes out on paper and as files: lists and labels."""
