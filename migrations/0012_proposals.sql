-- What one person proposed and another must approve before it becomes true. A projection.
create table proposal (
    -- The entry that proposed it, whose body says what.
    id BIGINT primary key,
    -- rule_set or release.
    kind TEXT not null,
    proposed_by TEXT not null,
    proposed_at TIMESTAMPTZ not null,
    -- approved or rejected; null while it waits.
    outcome TEXT,
    -- The entry that decided it.
    decided_by BIGINT
);
create index proposal_open on proposal (id) where outcome is null;
create index proposal_decided on proposal (decided_by) where decided_by is not null;
