"""Reference pages and help, generated from declarations."""
