"""The bin as a whole: notes and archive, its table, motors that are alike, merged and split."""
