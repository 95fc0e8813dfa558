"""Lines of lettering: where in the photo they are, each once, along whatever curve they take."""
