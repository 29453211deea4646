-- Components and where they are and were.

create table component (
    id BIGINT primary key,
    part TEXT not null,
    serial TEXT not null,
    -- Upper case, no blanks, no hyphens: for finding only.
    folded TEXT not null,
    received_at TIMESTAMPTZ not null,
    condition TEXT not null,
    -- Where it is while not fitted.
    location TEXT,
    since TIMESTAMPTZ not null,
    since_by BIGINT not null,
    manufactured_on DATE,
    overhauled_on DATE,
    -- What it had run before it came in, in thousandths of the unit; null is unknown, not zero.
    brought_odometer BIGINT,
    brought_running_hours BIGINT,
    brought_compressor_hours BIGINT,
    -- What it had run since its overhaul when it came in.
    overhaul_odometer BIGINT,
    overhaul_running_hours BIGINT,
    overhaul_compressor_hours BIGINT,
    certificate TEXT
);
create unique index component_identity on component (part, serial);
create index component_folded on component (folded, part);
create index component_by_location on component (location, part, serial) where location is not null;
create index component_in_stock on component (part, condition) where location is not null;

-- What each entry says of a component from a time on: where it is, in which condition, or both.
-- Location, since and condition above are those of the latest that says so.
create table component_state (
    component_id BIGINT not null references component (id),
    recorded_by BIGINT not null,
    since TIMESTAMPTZ not null,
    -- "fitted", or "kept" at the location; null where the entry says nothing of the place.
    whereabouts TEXT,
    location TEXT,
    condition TEXT,
    primary key (component_id, recorded_by),
    check (location is null or coalesce(whereabouts, '') = 'kept')
);

-- A component at a position over a period, in two times: from_at and until_at are when it was
-- so in the world, known_from and known_until when the register said so. The current rows have
-- known_until null. The meters of the car at both ends follow from its readings as known now, so
-- that only the current rows have them.
create table fitment (
    id BIGINT not null,
    known_from TIMESTAMPTZ not null,
    known_until TIMESTAMPTZ,
    component_id BIGINT not null references component (id),
    car_id BIGINT not null references car (id),
    position TEXT not null,
    from_at TIMESTAMPTZ not null,
    fitted_by BIGINT not null,
    from_location TEXT,
    until_at TIMESTAMPTZ,
    removed_by BIGINT,
    removal_reason TEXT,
    removed_to TEXT,
    from_odometer BIGINT,
    from_running_hours BIGINT,
    from_compressor_hours BIGINT,
    until_odometer BIGINT,
    until_running_hours BIGINT,
    until_compressor_hours BIGINT,
    primary key (id, known_from),
    check (until_at is null or from_at < until_at)
);
-- A component is in one place at most, and a position holds one component at most.
create unique index fitment_component_once on fitment (component_id)
    where until_at is null and known_until is null;
create unique index fitment_position_once on fitment (car_id, position)
    where until_at is null and known_until is null;
create index fitment_by_component on fitment (component_id, from_at);
create index fitment_by_position on fitment (car_id, position, from_at);
