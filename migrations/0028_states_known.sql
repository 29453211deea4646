-- What entries say of components, in two times as with fitments: one that is withdrawn stays as
-- what was known until then. What was withdrawn before this migration comes back with a rebuild.
alter table component_state add column known_from TIMESTAMPTZ;
alter table component_state add column known_until TIMESTAMPTZ;
update component_state set known_from = (select ledger.recorded_at from ledger where ledger.seq = component_state.recorded_by);

-- Settings by their name, those that are withdrawn included.
create index setting_by_name on setting (name, car_id);

-- Entries that were withdrawn or corrected and told of the use of a car or of work on something: by
-- these what was known before is told. Those of before this migration come back with a rebuild.
create table withdrawn (
    entry BIGINT primary key,
    -- The car or the component.
    subject_id BIGINT not null,
    known_from TIMESTAMPTZ not null,
    known_until TIMESTAMPTZ not null
);
create index withdrawn_by_subject on withdrawn (subject_id, known_until);
