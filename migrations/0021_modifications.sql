-- Modifications: in which components and cars each was embodied. What a campaign is for, and the
-- state it leaves a component in, is design data.

create table embodiment (
    recorded_by BIGINT primary key,
    modification TEXT not null,
    component_id BIGINT references component (id),
    subject_car_id BIGINT references car (id),
    done_at TIMESTAMPTZ not null,
    check ((component_id is null) <> (subject_car_id is null))
);
create unique index embodiment_in_car on embodiment (subject_car_id, modification) where subject_car_id is not null;
create index embodiment_in_component on embodiment (component_id, modification) where component_id is not null;
