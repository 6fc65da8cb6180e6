"""From a signal to its baseline, noise and peaks."""
