-- Plates: the serial numbers that a component bore after the one under which it came in.

-- All of them with their entries, in the order of time; null where there are none.
alter table component add column plates TEXT;

-- By which a component is found.
create table plate (
    -- The entry that says so.
    id BIGINT primary key,
    component_id BIGINT not null references component (id),
    part TEXT not null,
    serial TEXT not null,
    -- Upper case, no blanks, no hyphens.
    folded TEXT not null
);
create index plate_folded on plate (folded, part);
create index plate_identity on plate (part, serial);
create index plate_by_component on plate (component_id);
