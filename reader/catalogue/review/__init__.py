"""What people say of a part, and in which order they are asked."""
