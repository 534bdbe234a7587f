"""What to change in a unit so that its curve comes into its band, and what it will then do."""
