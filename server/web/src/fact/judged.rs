//! What people decide about a train, hold as evidence, ask of the fleet and plan, as rows.

use super::cells::Rows;
use crate::address;
use crate::page::decision::sheet::asked;
use crate::page::decision::verdicts::restrictions;
use crate::page::fleet_checks::one::in_words;
use domain::decision::taken::DecisionTaken;
use domain::due::visit::Visit;
use domain::ledger::fact::Fact;
use domain::rule_set::verdict::Imposed;

impl Rows<'_> {
    pub(super) fn hold(&mut self, fact: &Fact) {
        match fact {
            Fact::HeldAsEvidence {
                held,
                investigation,
            } => {
                self.linked("held as evidence", held, crate::holds::page_of(held));
                self.text("what is investigated", investigation);
            }
            Fact::HoldLifted { hold, evidence } => {
                self.linked("hold lifted", hold, address::hold(*hold));
                self.text("on whose word", evidence);
            }
            _ => {}
        }
    }

    pub(super) fn fleet_check(&mut self, fact: &Fact) {
        match fact {
            Fact::FleetCheckOpened(it) => {
                self.text("about", &it.title);
                self.text("to be looked at and done", &it.instruction);
                self.text("cars found by", &it.looked_for);
                self.text("answers until", it.answer_by);
                let cars: Vec<String> = it.cars.iter().map(ToString::to_string).collect();
                self.text("cars", cars.join(" "));
            }
            Fact::FleetCheckAnswered(it) => {
                self.linked(
                    "check of the fleet",
                    it.check,
                    address::fleet_check(it.check),
                );
                self.car(&it.car);
                self.text("found", in_words(it.answer));
                self.text("seen and done", &it.remark);
                if !it.asked_too.is_empty() {
                    let cars: Vec<String> = it.asked_too.iter().map(ToString::to_string).collect();
                    self.text(
                        "asked too, since they carry it or it cannot be told",
                        cars.join(" "),
                    );
                }
            }
            _ => {}
        }
    }

    pub(super) fn visit(&mut self, visit: &Visit) {
        self.linked("visit", &visit.number, address::visit(&visit.number));
        self.linked("unit", &visit.unit, address::unit(&visit.unit));
        self.text("depot", &visit.depot);
        self.text("comes on", visit.from);
        self.text("goes on", visit.until);
        self.text("hours of work", visit.hours);
        for number in &visit.modifications {
            self.linked("to embody", number, address::modification(number));
        }
        if let Some(before) = visit.in_place_of {
            self.linked("in place of", before, address::entry(before));
        }
    }

    pub(super) fn decision(&mut self, taken: &DecisionTaken) {
        self.linked("train", &taken.train, address::train(&taken.train));
        let formed_by = taken.formed_by;
        self.linked("formed by", formed_by, address::entry(formed_by));
        self.revision("rule set", &taken.rule_set, &taken.revision);
        self.text("verdict", taken.found.permission.headline());
        for (field, text) in asked(taken) {
            self.text("asked", format!("{field}: {text}"));
        }
        let imposed = Imposed::from(&taken.found.restrictions);
        for (name, text) in restrictions(taken.found.permission, &imposed) {
            self.text(&name.to_lowercase(), text);
        }
        if let Some(later) = &taken.found.later {
            self.text("later", later);
        }
        for warning in taken.found.beside() {
            self.text("to be known beside it", warning);
        }
        for cut_out in &taken.found.cut_outs {
            self.text("cut out", format!("{} {}", cut_out.at, cut_out.state));
        }
        self.text("decided by", &taken.decided_by);
        for told in &taken.told {
            let at = self.zone.show(told.at);
            self.text("told", format!("{}, {at}", told.who));
        }
    }
}
