-- The last entry that can change what is said about trains, and when it was recorded: by it an open
-- board knows whether it is stale. Nobody knows it of an older register, so the last of all stands.
alter table ledger_head add column changed_seq BIGINT not null default 0;
alter table ledger_head add column changed_at TIMESTAMPTZ;
update ledger_head set changed_seq = seq, changed_at = (select recorded_at from ledger where ledger.seq = ledger_head.seq);
