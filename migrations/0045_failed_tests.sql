-- The board tells of ends of cut-outs that a failed test speaks against, however old: the few tests of
-- cars that were failed are found without reading all tests.
create index test_record_failed on test_record (outcome, car_id, procedure_code, tested_at) where outcome = 'failed' and car_id is not null;
