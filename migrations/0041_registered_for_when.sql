-- From when what a car is registered with holds, by which entry, and since when the car is there: what
-- is told late is history, and nothing is recorded about a car before it was there.
alter table car add column registered_by BIGINT;
alter table car add column registered_at TIMESTAMPTZ;
alter table car add column there_since TIMESTAMPTZ;

-- Of cars from before this migration, what was registered last stands, as it did; a rebuild tells
-- anew what holds from the latest time.
update car set registered_by = coalesce((
    select max(entry_subject.seq) from entry_subject
    join ledger on ledger.seq = entry_subject.seq
    where entry_subject.kind = 'car' and entry_subject.name = car.number
    and ledger.kind = 'car_registered'), id);
update car set registered_at = (
    select ledger.effective_at from ledger where ledger.seq = car.registered_by);
update car set there_since = (
    select min(ledger.effective_at) from ledger
    where ledger.seq in (car.id, car.registered_by));
