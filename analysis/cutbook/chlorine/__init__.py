"""Organic chlorine: the screen of an oil, what it adds up to, where it goes."""
