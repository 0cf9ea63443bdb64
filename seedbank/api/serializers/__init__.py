"""What each answer says: fields written out one by one, so that none slips in by itself."""
