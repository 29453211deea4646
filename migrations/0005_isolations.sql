-- Cut-outs, in force until an entry ends them.

create table isolation (
    id BIGINT primary key,
    car_id BIGINT not null references car (id),
    position TEXT not null,
    state TEXT not null,
    cause TEXT not null,
    since TIMESTAMPTZ not null,
    not_before TIMESTAMPTZ,
    ended_at TIMESTAMPTZ,
    ended_by BIGINT
);
create unique index isolation_in_force on isolation (car_id, position) where ended_at is null;
create index isolation_by_position on isolation (car_id, position, since);
