-- What is overdue on the cars of a train stands beside each verdict: it is found by its date, without
-- reading all that is due on them. The rows of one car stand together, so that a reading which moves
-- their dates moves them within few pages.
drop index due_by_car;
create index due_by_car on due (car_id, due_on);
