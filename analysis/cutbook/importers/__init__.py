"""Reading: one file a format, recognition by content, the run sheet."""
