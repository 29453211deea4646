//! Files in and out of the register: bringing in a fleet from CSV files or a workbook, writing
//! lists for people, and generating invented fleets of any size. No SQL, no rules: what a file
//! says becomes commands, and the register decides.

pub mod columns;
pub mod generate;
pub mod input;
pub mod ledger_file;
pub mod output;
pub mod report;
