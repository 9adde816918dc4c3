"""Starting points: chains, stocks, deliveries, and the invented demo reel."""
