"""How often answers are right: probabilities fitted to answers of known truth."""
