-- What a check of the fleet looks for, as a question that can be asked again; null where it was opened
-- without one.
alter table fleet_check add column sought TEXT;
-- What was asked of a car, by checks open and closed.
create index fleet_check_of_car on fleet_check_car (car_id, check_id);
