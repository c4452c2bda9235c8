"""What a person writes, checked and turned into SI."""
