-- The ledger by the time when its entries were recorded.
create index ledger_by_recorded_at on ledger (recorded_at, seq);
