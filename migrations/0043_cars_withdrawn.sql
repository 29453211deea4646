-- A car of which the registration was withdrawn is not in the register any more. What was known of it
-- stays, so that the past can be asked for, and its number may be registered again. `car` is every car
-- that is in the register, `car_ever` those that ever were. The entry that withdrew it; nought while it
-- stands. Tables from here on refer to `car_ever`.
alter table car rename to car_ever;
alter table car_ever add column withdrawn_by BIGINT not null default 0;
drop index car_number;
create unique index car_number on car_ever (number, withdrawn_by);
create view car as
    select id, number, vehicle_number, car_type, revision, fleet, depot, entered_service_on,
        unit_number, unit_place, unit_orientation, registered_by, registered_at, there_since
    from car_ever where withdrawn_by = 0;
