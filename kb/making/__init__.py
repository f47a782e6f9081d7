"""What a publish keeps for the next one, so that only what changed is made anew."""
