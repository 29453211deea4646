-- Components that are fitted and not serviceable: few, and told with every verdict on their train.
create index component_unfit on component (id) where condition <> 'serviceable' and location is null;
