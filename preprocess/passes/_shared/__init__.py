"""What several passes share and is no pass itself."""
