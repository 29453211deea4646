//! Checks against published sources, one file a source; each test names the document and the
//! place in it.

mod brake_percentage;
mod vehicle_number;
