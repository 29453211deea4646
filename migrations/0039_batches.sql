-- The lot that a component was made in, as its receipt says. Receipts from before this migration say
-- of none.
alter table component add column batch TEXT;

-- The same in two times, with what is said of the component. Folded, it is in upper case without
-- blanks and hyphens: for finding only.
alter table component_state add column batch TEXT;
alter table component_state add column batch_folded TEXT;
create index component_state_by_batch on component_state (batch_folded, component_id)
    where batch_folded is not null;
