-- A component of which the receipt was withdrawn is not in the register any more. What was known of it
-- stays, so that the past can be asked for, and its serial number may come in again.
-- The entry that withdrew it; nought while it stands.
alter table component add column withdrawn_by BIGINT not null default 0;
drop index component_identity;
create unique index component_identity on component (part, serial, withdrawn_by);
