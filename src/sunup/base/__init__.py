"""What every layer shares: hours and instants, problems, quantities, figures with their sources."""
