"""Pure: batches, holds, lineage, balance, and what mouldy batches share."""
