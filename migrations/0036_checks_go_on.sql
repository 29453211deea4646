-- What a check of the fleet looks for, as a question that can be asked again; null where it was opened
-- without one.
alter table fleet_check add column sought TEXT;
-- What was found on a car by a check that may be closed.
create index fleet_check_car_defective on fleet_check_car (car_id, check_id) where answer = 'defective';
