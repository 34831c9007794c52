"""Files as others write them, read into values: no files are opened here, no network is asked."""
