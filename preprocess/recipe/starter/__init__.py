"""The starter: a recipe measured from a drawing."""
