"""Papers of a unit, as known at a mark: the dossier that goes with it, and the traveller that goes round with it."""
