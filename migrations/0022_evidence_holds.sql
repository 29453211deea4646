-- Evidence holds: what is neither moved, opened, tested, scrapped nor amended until whoever set the
-- hold lifts it. A projection.
create table evidence_hold (
    -- The entry that set it.
    id BIGINT primary key,
    -- What is held: one of the three.
    component_id BIGINT references component (id),
    held_car_id BIGINT references car (id),
    held_entry BIGINT,
    investigation TEXT not null,
    set_by TEXT not null,
    since TIMESTAMPTZ not null,
    -- Where a held component was on a car when the hold was set; while it lasts it is there.
    on_car_id BIGINT references car (id),
    position TEXT,
    lifted_at TIMESTAMPTZ,
    lifted_by BIGINT
);
-- The last entry that set or lifted one; 0 where none ever did. By it a server knows whether what it
-- remembers of them is current.
alter table ledger_head add column holds_seq BIGINT not null default 0;
create index evidence_hold_in_force on evidence_hold (since, id) where lifted_at is null;
create index evidence_hold_lifted on evidence_hold (lifted_at, id) where lifted_at is not null;
create index evidence_hold_by_component on evidence_hold (component_id);
create index evidence_hold_by_car on evidence_hold (held_car_id);
create index evidence_hold_on_car on evidence_hold (on_car_id);
create index evidence_hold_by_entry on evidence_hold (held_entry);
