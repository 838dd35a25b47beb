"""The row profile: width, time and heat along the rows."""
