//! What a component has run, by each meter, as far as it is known.

use crate::address;
use crate::show;
use domain::due::facts::MeterFacts;
use domain::ledger::dossier::{ComponentRecord, MeterValues};
use domain::ledger::entry::Seq;
use domain::ledger::estimated::Estimated;
use domain::ledger::standing::{ComponentHistory, MeterStanding};
use domain::ledger::used::Used;
use domain::time::{Instant, Zone};
use domain::units::{Amount, ByMeter, Meter};
use domain::worked::{Missing, Step};

/// A row of the table of usage.
#[derive(Debug)]
pub(super) struct UsedRow {
    pub(super) meter: Meter,
    /// What it had run when it came in.
    pub(super) brought: Option<String>,
    /// What was counted since.
    pub(super) counted: Option<String>,
    /// Both, or which facts are lacking for it.
    pub(super) total: Result<String, Vec<String>>,
    /// Up to when it is counted, in words.
    pub(super) until: String,
    /// What of it no reading tells, in words.
    pub(super) estimated: Vec<String>,
    /// The entry since which it is unknown in all, with its address.
    pub(super) unknown_since: Option<(Seq, String)>,
    pub(super) steps: Vec<Step>,
}

/// The meters of the car that a component is on.
pub(super) struct Host<'a> {
    pub(super) standings: &'a [(Meter, MeterStanding)],
    /// Since when the component is on it.
    pub(super) since: Instant,
}

/// Up to when use is counted: to the last reading, which is a fact; only where the component
/// was fitted after it, to now at the car's rate, which is an estimate.
struct Until {
    at: Instant,
    host: Option<Amount>,
    words: String,
}

/// What a component has run by every meter; `host` is the car it is on.
pub(super) fn rows(
    history: &ComponentHistory<'_>,
    host: Option<&Host<'_>>,
    (now, zone): (Instant, &Zone),
) -> Vec<UsedRow> {
    let row = |&meter: &Meter| {
        let until = until(meter, host, (now, zone));
        let mut host = MeterValues::default();
        host[meter] = until.host;
        let used = history.used(meter, (&host, until.at), zone);
        shown(used, until.words, zone)
    };
    Meter::ALL.iter().map(row).collect()
}

fn until(meter: Meter, host: Option<&Host<'_>>, (now, zone): (Instant, &Zone)) -> Until {
    let Some(host) = host else {
        return Until {
            at: now,
            host: None,
            words: "not on a car: it runs no further".to_owned(),
        };
    };
    let standing = host.standings.iter().find(|(other, _)| *other == meter);
    let Some((_, standing)) = standing else {
        return Until {
            at: now,
            host: None,
            words: "the car’s meter was never read".to_owned(),
        };
    };
    let last = standing.last;
    if host.since <= last.at {
        return Until {
            at: last.at,
            host: Some(last.usage),
            words: format!("by the car’s last reading, {}", zone.show(last.at)),
        };
    }
    Until {
        at: now,
        host: standing.at(now).amount(),
        words: "estimated at the car’s daily rate: fitted after its last reading".to_owned(),
    }
}

fn shown(used: Used, until: String, zone: &Zone) -> UsedRow {
    let meter = used.meter;
    let worked_out = |amount| show::worked_out(amount, meter);
    let lacking = |missing: Missing| {
        let facts = missing.0.into_iter();
        facts
            .map(|fact| format!("{} of {}", fact.what, fact.of))
            .collect()
    };
    let counted = used.counted.as_ref().ok();
    UsedRow {
        meter,
        estimated: told(&used.estimated, zone),
        brought: used.brought.map(|amount| show::tenths(amount, meter)),
        counted: counted.map(|worked| worked_out(worked.value)),
        total: used.total.map(worked_out).map_err(lacking),
        unknown_since: used.unknown_since.map(|by| (by, address::entry(by))),
        steps: used
            .counted
            .map_or_else(|_| Vec::new(), |worked| worked.steps),
        until,
    }
}

/// What no reading tells, in words.
pub(super) fn told(estimated: &[Estimated], zone: &Zone) -> Vec<String> {
    estimated.iter().map(|one| one.told(zone)).collect()
}

/// What forecasts start from, by meter.
pub(super) fn facts(standings: &[(Meter, MeterStanding)], zone: &Zone) -> ByMeter<MeterFacts> {
    ByMeter::from_fn(|meter| {
        let standing = standings.iter().find(|(other, _)| *other == meter);
        standing.map_or(MeterFacts::UNKNOWN, |(_, standing)| standing.facts(zone))
    })
}

/// What a component had run since its overhaul when it came in, as far as that is known.
pub(super) fn since_overhaul(record: &ComponentRecord) -> Vec<String> {
    let amounts = record.since_overhaul.by_meter();
    let known = Meter::ALL
        .iter()
        .filter_map(|&meter| Some(show::tenths(amounts[meter]?, meter)));
    known.collect()
}
