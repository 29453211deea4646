//! When work is due: tasks with their limits, due points, forecast dates and states.

pub mod task;
