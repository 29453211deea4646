//! The ledger as a whole, on both databases: what is recorded, what is refused and why, and that
//! everything else follows from it.

mod approvals;
mod assemblies;
mod assembly_design;
mod baselines;
mod chain;
mod commands;
mod concession_scope;
mod concessions;
mod concurrency;
mod conditions;
mod consequences;
mod corrections;
mod decisions;
mod due_at_once;
mod due_dates;
mod fitments;
mod fleet_checks;
mod formations;
mod histories;
mod holds;
mod import;
mod isolations;
mod life;
mod locations;
mod meters;
mod migrations;
mod modifications;
mod papers;
mod permissions;
mod plates;
mod record_corrections;
mod robbed;
mod settings;
mod shortcomings;
mod visits;
