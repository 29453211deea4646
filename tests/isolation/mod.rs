//! What cut-outs take away.

mod brake_pipe;
mod circuit_check;
mod circuit_faults;
mod circuit_pipes;
mod circuit_properties;
mod circuit_text;
mod closing_examples;
mod closing_properties;
mod closing_sections;
mod common_practice;
mod cut_out_states;
mod decision_properties;
mod fault_finding;
mod flow;
mod holding_by_adhesion;
mod load_and_slide;
mod naive;
mod path;
mod percentage_properties;
mod random_trains;
mod reveal;
mod said_and_checked;
mod stored_air_left;
mod three_car_unit;
mod unit_examples;
mod weak_points;
