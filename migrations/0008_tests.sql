-- Test records. What they come to follows from the values and the limits of the procedure's
-- revision; the values are kept as JSON text.

create table test_record (
    id BIGINT primary key,
    name TEXT not null,
    component_id BIGINT references component (id),
    car_id BIGINT references car (id),
    procedure_code TEXT not null,
    revision TEXT not null,
    tested_at TIMESTAMPTZ not null,
    outcome TEXT not null,
    body TEXT not null,
    check ((component_id is null) <> (car_id is null))
);
create unique index test_record_name on test_record (name);
create index test_record_of_component on test_record (component_id, tested_at) where component_id is not null;
create index test_record_of_car on test_record (car_id, tested_at) where car_id is not null;
