-- Work that is due at once, work without a date, and what tasks and cars count from.

-- Why the work is due at once, as JSON text; null where it is not.
alter table due add column at_once TEXT;
-- What has no date though nothing is lacking is a list of its own.
create index due_no_date on due (subject_id, task) where due_on is null and lacking is null;

-- Until work on a car as a whole was done, its intervals count from this day.
alter table car add column entered_service_on DATE;

-- From when a document was in force: work done is judged by the revision of then.
alter table document add column effective_at TIMESTAMPTZ;
update document set effective_at = (select ledger.effective_at from ledger where ledger.seq = document.seq);

-- The ledger by kind and by person.
create index ledger_by_kind on ledger (kind, seq);
create index ledger_by_actor on ledger (actor, seq);

-- When the last entry was recorded: no entry is recorded before it.
alter table ledger_head add column recorded_at TIMESTAMPTZ;
update ledger_head set recorded_at = (select ledger.recorded_at from ledger where ledger.seq = ledger_head.seq);
