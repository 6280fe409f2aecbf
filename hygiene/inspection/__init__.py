"""Before the inspector comes: the clauses, and what he would find. Pure."""
