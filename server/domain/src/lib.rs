//! The core of the brake register: all rules and all mathematics. It knows nothing of files,
//! databases, pages or the clock; it is told everything and answers with values that carry
//! their working.

mod words;

pub mod braking;
pub mod circuit;
pub mod configuration;
pub mod decision;
pub mod due;
pub mod identity;
pub mod isolation;
pub mod json;
pub mod ledger;
pub mod people;
pub mod refusal;
pub mod rule_set;
pub mod test_record;
pub mod time;
pub mod units;
pub mod unreadable;
pub mod unseen;
pub mod usage;
pub mod vehicle_number;
pub mod worked;
