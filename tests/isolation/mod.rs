//! What cut-outs take away.

mod brake_pipe;
mod circuit_faults;
mod circuit_properties;
mod common_practice;
mod cut_out_states;
mod naive;
mod percentage_properties;
mod random_trains;
mod three_car_unit;
