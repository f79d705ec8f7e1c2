"""What is known of each female: facts as observed, never conclusions."""
