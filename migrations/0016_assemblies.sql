-- Assemblies: components that have positions of their own. Where an inner component is inside its
-- assembly stands here, in two times as with fitments. Where that was on cars stands in fitment:
-- a row for each period that it and its assemblies shared on a car, with the full code.

create table inner_fitment (
    id BIGINT not null,
    known_from TIMESTAMPTZ not null,
    known_until TIMESTAMPTZ,
    component_id BIGINT not null references component (id),
    -- The assembly, and the code of the position within it.
    host_id BIGINT not null references component (id),
    position TEXT not null,
    from_at TIMESTAMPTZ not null,
    fitted_by BIGINT not null,
    from_location TEXT,
    until_at TIMESTAMPTZ,
    removed_by BIGINT,
    removal_reason TEXT,
    removed_to TEXT,
    primary key (id, known_from),
    check (until_at is null or from_at < until_at),
    check (component_id <> host_id)
);
-- A component is in one place at most, and a position holds one component at most.
create unique index inner_fitment_component_once on inner_fitment (component_id)
    where until_at is null and known_until is null;
create unique index inner_fitment_position_once on inner_fitment (host_id, position)
    where until_at is null and known_until is null;
create index inner_fitment_by_component on inner_fitment (component_id, from_at);
create index inner_fitment_by_host on inner_fitment (host_id, position, from_at);
