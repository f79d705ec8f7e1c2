"""How a ledger's tables came about, step by step; run by ``sunup.store.schema``."""
