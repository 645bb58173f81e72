"""One person's page of one digester or source on one local day."""
