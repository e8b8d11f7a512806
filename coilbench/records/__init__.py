"""What is known of each motor, kept safely."""
