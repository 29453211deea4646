//! A fact as a table of two columns, with links to the things it names.

use super::cells::{FactRow, Rows};
use super::{unit_cars, vehicles};
use crate::address;
use crate::show::exact;
use domain::configuration::car::Car;
use domain::configuration::certificate::Certificate;
use domain::configuration::location::Sent;
use domain::configuration::setting::SettingMade;
use domain::identity::{ConcessionNumber, LocationName};
use domain::ledger::fact::{Brought, CutOut, Fact, Fitting, Reading, Receipt, Removal};
use domain::rule_set::{RuleSet, words};
use domain::test_record::record::TestRecord;
use domain::time::Zone;
use domain::units::Meter;

/// The rows of a fact, with times as the depot's clock shows them. Documents are shown by their
/// heads; the rest of them is in the body of the entry.
pub(crate) fn rows(fact: &Fact, zone: &Zone) -> Vec<FactRow> {
    let mut rows = Rows {
        rows: Vec::new(),
        zone,
    };
    rows.fact(fact);
    rows.rows
}

impl Rows<'_> {
    fn fact(&mut self, fact: &Fact) {
        match fact {
            Fact::CarTypeDefined(_)
            | Fact::RevisionEffective(_)
            | Fact::ConcessionGranted(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. }
            | Fact::ModificationIssued(_)
            | Fact::LocationDefined(_)
            | Fact::PartDefined(_)
            | Fact::TaskDefined(_)
            | Fact::ProcedureDefined(_)
            | Fact::RuleSetIssued(_) => self.document(fact),
            Fact::CarRegistered(car) => self.registered(car),
            Fact::UnitFormed(unit) => {
                self.linked("unit", &unit.number, address::unit(&unit.number));
                self.text("cars from the first", unit_cars(unit));
            }
            Fact::TrainFormed(train) => {
                self.linked("train", &train.id, address::train(&train.id));
                self.text("vehicles from the first", vehicles(train));
            }
            Fact::ComponentReceived(receipt) => self.received(receipt),
            Fact::ReadingTaken(reading) => self.reading(reading),
            Fact::MeterReplaced {
                car,
                meter,
                last_value,
                first_value,
            } => {
                self.car(car);
                self.text("meter", meter);
                self.text("last shown by the old one", exact(*last_value, *meter));
                self.text("first shown by the new one", exact(*first_value, *meter));
            }
            Fact::TaskDone { .. } | Fact::Embodied { .. } => self.work(fact),
            Fact::TestRecorded(record) => self.test(record),
            Fact::SettingMade(it) => self.setting(it),
            Fact::Isolated(cut_out) => self.cut_out(cut_out),
            Fact::IsolationEnded { at, proved_by } => {
                self.position("position", at);
                self.text("proved by test", proved_by);
            }
            Fact::CheckConfirmed(it) => {
                self.position("position", &it.at);
                let entry = it.isolation;
                self.linked("cut-out", entry, address::entry(entry));
                self.text("check", it.check);
                self.text("checked by", &it.by);
            }
            Fact::DecisionTaken(taken) => self.decision(taken),
            Fact::HeldAsEvidence { .. } | Fact::HoldLifted { .. } => self.hold(fact),
            Fact::FleetCheckOpened(_) | Fact::FleetCheckAnswered(_) => self.fleet_check(fact),
            Fact::VisitPlanned(visit) => self.visit(visit),
            Fact::VisitCancelled { visit, reason } => {
                self.linked("visit cancelled", visit, address::visit(visit));
                self.text("why", reason);
            }
            Fact::Withdrawn => {}
            Fact::Proposed(proposal) => self.fact(&proposal.fact()),
            Fact::Approved { proposal } | Fact::Rejected { proposal } => {
                self.linked("proposal", proposal, address::entry(*proposal));
            }
            other => self.whereabouts(other),
        }
    }

    fn work(&mut self, fact: &Fact) {
        match fact {
            Fact::TaskDone {
                subject,
                task,
                evidence,
                release,
            } => {
                self.subject(subject);
                self.text("task", task);
                self.text("evidence", evidence);
                self.release(release.as_deref());
            }
            Fact::Embodied {
                modification: number,
                subject,
                evidence,
            } => {
                self.linked("modification", number, address::modification(number));
                self.subject(subject);
                self.text("evidence", evidence);
            }
            _ => {}
        }
    }

    fn document(&mut self, fact: &Fact) {
        match fact {
            Fact::CarTypeDefined(it) => {
                self.revision("car type", &it.name, &it.revision);
                self.text("title", &it.title);
                self.text("fleet", &it.fleet);
                self.text("positions", it.positions.len());
            }
            Fact::RevisionEffective(it) => {
                self.revision("car type", &it.car_type, &it.revision);
                self.text("cars", &it.cars);
                self.text("from", it.from);
            }
            Fact::ConcessionGranted(it) => {
                self.concession(&it.number);
                self.text("cars", &it.cars);
                self.text("position", &it.position);
                self.text("allows", &it.allows);
                if let Some(values) = &it.values {
                    self.text("values", values);
                }
                self.text("why the risk is accepted", &it.reason);
                self.text("until", it.until);
            }
            Fact::ConcessionProlonged { number, until } => {
                self.concession(number);
                self.text("until", until);
            }
            Fact::ConcessionWithdrawn { number } => self.concession(number),
            Fact::ModificationIssued(it) => {
                let number = &it.number;
                self.linked("modification", number, address::modification(number));
                self.text("what is done", &it.title);
                self.text("in what", &it.scope);
                self.text("by when", it.by);
                self.text("source", &it.source);
            }
            Fact::LocationDefined(it) => {
                self.linked("location", &it.name, address::location(&it.name));
                self.text("what it is", it.kind);
            }
            Fact::PartDefined(it) => {
                self.text("part", &it.number);
                self.text("title", &it.title);
                self.text("made for", it.kind);
                if !it.positions.is_empty() {
                    self.text("positions of its own", it.positions.len());
                }
            }
            Fact::TaskDefined(it) => self.task(it),
            Fact::ProcedureDefined(it) => self.procedure(it),
            Fact::RuleSetIssued(it) => self.rule_set(it),
            _ => {}
        }
    }

    fn concession(&mut self, number: &ConcessionNumber) {
        self.linked("concession", number, address::concession(number));
    }

    fn rule_set(&mut self, rules: &RuleSet) {
        self.revision("rule set", &rules.name, &rules.revision);
        for part in words::head(rules) {
            self.text(&part.what, part.lines.join("; "));
        }
        if let Some(agreed) = &rules.agreed {
            self.text("proposed by", agreed.proposed_by());
            self.text("approved by", agreed.approved_by());
        }
        for (number, rule) in (1..).zip(words::rules(rules)) {
            let says = format!("{}: {}", rule.what, rule.lines.join("; "));
            self.text(&format!("rule {number}"), says);
        }
    }

    /// What happened to components.
    fn whereabouts(&mut self, fact: &Fact) {
        match fact {
            Fact::Fitted(fitting) => self.fitting(fitting),
            Fact::Removed {
                component,
                from,
                removal,
            } => {
                self.component("component", component);
                if let Some(from) = from {
                    self.position("from position", from);
                }
                self.removal(removal);
            }
            Fact::Moved {
                component,
                to,
                reason,
                concession,
            } => {
                self.component("component", component);
                self.place("to position", to);
                self.text("reason", reason);
                if let Some(number) = concession {
                    self.concession(number);
                }
            }
            Fact::Swapped {
                first,
                second,
                reason,
                first_concession,
                second_concession,
            } => {
                self.component("first component", first);
                self.component("second component", second);
                self.text("reason", reason);
                let concessions = first_concession.iter().chain(second_concession);
                for number in concessions {
                    self.concession(number);
                }
            }
            Fact::Relocated(it) => {
                self.component("component", &it.component);
                self.sent(&it.to, &it.sent);
            }
            Fact::PlateChanged(it) => {
                self.component("component", &it.component);
                self.text("what its plate says", &it.plate);
                self.text("cause", it.cause);
            }
            Fact::ConditionJudged {
                component,
                condition,
                evidence,
            } => {
                self.component("component", component);
                self.text("condition", condition);
                self.text("evidence", evidence);
            }
            _ => {}
        }
    }

    fn registered(&mut self, car: &Car) {
        self.car(&car.number);
        self.maybe("vehicle number", car.vehicle_number.as_ref());
        self.revision("car type", &car.car_type, &car.revision);
        self.text("fleet", &car.fleet);
        self.text("depot", &car.depot);
    }

    fn received(&mut self, receipt: &Receipt) {
        self.component("component", &receipt.component);
        self.text("condition", receipt.condition);
        self.text("location", &receipt.location);
        self.away(&receipt.sent);
        self.maybe(
            "seen to be another than one alike",
            receipt.alike_seen.as_ref(),
        );
        self.maybe("made on", receipt.manufactured_on);
        self.maybe("overhauled on", receipt.overhauled_on);
        self.brought("run since it was made", &receipt.brought);
        self.brought("run since its overhaul", &receipt.since_overhaul);
        self.maybe("certificate", receipt.certificate_number());
        self.maybe("modification state", receipt.modification.as_ref());
        match &receipt.batch {
            None => self.text("batch", "not stated"),
            Some(batch) => {
                let items = address::batch(&receipt.component.part, batch);
                self.linked("batch", batch, items);
            }
        }
        self.release(receipt.release.as_deref());
    }

    /// A certificate of release. What it does not say is said to be unsaid.
    fn release(&mut self, release: Option<&Certificate>) {
        let Some(it) = release else { return };
        self.text("certificate", format!("{} of {}", it.number, it.issuer));
        let signed = format!("{} on {}", it.signed_by, it.signed_on);
        self.text("certificate signed by", signed);
        self.maybe("work supervised by", it.supervised_by.as_ref());
        self.maybe("work done at", it.place.as_ref());
        self.text("instruction worked to", &it.instruction);
        self.text("what was done", &it.done);
        let not_done = it.not_done.as_deref();
        self.text("what was not done", not_done.unwrap_or("not stated"));
        for left in &it.left {
            self.text("life left, as certified", left);
        }
    }

    fn brought(&mut self, what: &str, brought: &Brought) {
        let by_meter = brought.by_meter();
        for meter in Meter::ALL {
            let run = by_meter[*meter].map(|amount| exact(amount, *meter));
            self.maybe(&format!("{what}, {meter}"), run);
        }
    }

    fn fitting(&mut self, fitting: &Fitting) {
        self.component("component", &fitting.component);
        self.place("position", &fitting.at);
        if let Some(number) = &fitting.concession {
            self.concession(number);
        }
        if let Some(ended) = &fitting.ended {
            self.moment("until", ended.at);
            self.removal(&ended.removal);
        }
    }

    fn removal(&mut self, removal: &Removal) {
        self.text("reason", removal.reason);
        self.sent(&removal.to, &removal.sent);
        self.text("condition from then on", removal.condition);
        if let Some(evidence) = &removal.evidence {
            self.text("evidence", evidence);
        }
    }

    fn sent(&mut self, to: &LocationName, sent: &Sent) {
        self.linked("to location", to, address::location(to));
        self.away(sent);
    }

    fn away(&mut self, sent: &Sent) {
        if let Some(name) = &sent.bound_for {
            self.linked("bound for", name, address::location(name));
        }
        self.maybe("expected on", sent.expected_on);
    }

    fn reading(&mut self, reading: &Reading) {
        self.car(&reading.car);
        self.text("meter", reading.meter);
        self.text("shown", exact(reading.value, reading.meter));
        if let Some(confirmed) = &reading.confirmed {
            self.text("confirmed, because", confirmed);
        }
    }

    fn test(&mut self, record: &TestRecord) {
        self.text("test record", &record.id);
        self.subject(&record.subject);
        self.revision("procedure", &record.procedure, &record.revision);
        self.moment("measured", record.at);
        self.text("tester", &record.tester);
        self.text("instrument", &record.instrument.number);
        self.maybe("calibrated until", record.instrument.calibrated_until);
        for value in &record.values {
            let load = value
                .load
                .map(|load| format!(", load {load}"))
                .unwrap_or_default();
            self.text(&format!("{}{load}", value.measurand), value.value);
        }
    }

    fn setting(&mut self, it: &SettingMade) {
        self.position("position", &it.at);
        self.text("setting", &it.setting);
        self.text("set to", &it.value);
        self.text("how", it.how);
    }

    fn cut_out(&mut self, cut_out: &CutOut) {
        self.position("position", &cut_out.at);
        self.text("state", cut_out.state);
        self.text("cause", &cut_out.cause);
        if let Some(not_before) = cut_out.not_before {
            self.moment("last seen in its normal state", not_before);
        }
    }
}
