-- Serial numbers as they may be misread: O for 0 and I for 1, both ways. For finding only.
create index component_misread on component (replace(replace(folded, 'O', '0'), 'I', '1'), part);
-- What is in stock of a part.
create index component_stock on component (part, location, condition, serial) where location is not null;
