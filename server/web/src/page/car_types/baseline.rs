//! A revision as a baseline: what is approved at each position, what that changes from another
//! revision, and for which cars it is in force from when.

use crate::address;
use crate::said::Said;
use domain::configuration::car_type::CarType;
use domain::configuration::design_compared::{changes, states};
use domain::configuration::effectivity::Effectivity;
use domain::configuration::part::Interchange;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use std::collections::HashMap;

/// A revision as a baseline.
pub(super) struct Baseline {
    pub(super) positions: Vec<PositionRow>,
    /// What differs from the other revision, each with the code of its position.
    pub(super) changes: Vec<(String, String)>,
    pub(super) effective: Vec<EffectiveRow>,
}

/// A position and what is approved there.
pub(super) struct PositionRow {
    pub(super) code: String,
    pub(super) title: String,
    pub(super) kind: String,
    pub(super) parts: Vec<PartRow>,
    /// The position of the assembly that it is inside, whose part says what belongs there.
    pub(super) inside: Option<String>,
    /// The settings asked for: name, value wanted, and what is allowed.
    pub(super) settings: Vec<[String; 3]>,
}

/// A part approved at a position.
pub(super) struct PartRow {
    pub(super) number: String,
    /// The modification states asked for; none where any will do.
    pub(super) states: Option<String>,
    /// How it may be exchanged with others that are approved there.
    pub(super) exchange: Vec<String>,
}

/// From when the revision is in force for which cars.
pub(super) struct EffectiveRow {
    pub(super) cars: String,
    pub(super) from: String,
    /// The entry that says so: its address and name.
    pub(super) entry: (String, String),
    /// Who says so.
    pub(super) said: Option<Said>,
}

impl Baseline {
    /// The entries that put a design in force.
    pub(super) fn entries<'a>(
        documents: &'a Documents,
        design: &'a CarType,
    ) -> impl Iterator<Item = Seq> + 'a {
        in_force(documents, design).map(|(by, _)| *by)
    }

    /// Of a design, beside another if there is one, with who put it in force. Linear in its
    /// positions.
    pub(super) fn of(
        documents: &Documents,
        design: &CarType,
        (against, said): (Option<&CarType>, &mut HashMap<Seq, Said>),
    ) -> Self {
        let positions = design.positions.iter();
        let positions = positions.map(|position| PositionRow {
            code: position.code.to_string(),
            title: position.title.clone(),
            kind: position.kind.to_string(),
            inside: documents.place(design, &position.code).and_then(|place| {
                place.inside?;
                let mut hosts = design.positions.iter();
                let host = hosts.find(|host| position.code.is_inside(&host.code))?;
                Some(host.code.to_string())
            }),
            settings: position
                .settings
                .iter()
                .map(|one| {
                    let wanted = one.wanted().to_string();
                    [one.name().to_string(), wanted, one.allowed()]
                })
                .collect(),
            parts: position
                .approved
                .iter()
                .map(|part| PartRow {
                    number: part.to_string(),
                    states: Some(states(&position.states, part)).filter(|states| states != "any"),
                    exchange: documents.part(part).map_or_else(Vec::new, |part| {
                        let earlier = part.replaces.iter();
                        let there = earlier.filter(|one| position.approved.contains(&one.part));
                        there
                            .map(|one| match one.way {
                                Interchange::OneWay => {
                                    format!("replaces {}, which does not come back", one.part)
                                }
                                Interchange::TwoWay => {
                                    format!("exchanged with {} at will", one.part)
                                }
                            })
                            .collect()
                    }),
                })
                .collect(),
        });
        let changes = against.map_or_else(Vec::new, |old| changes(old, design));
        Self {
            positions: positions.collect(),
            changes: changes
                .into_iter()
                .map(|(code, change)| (code.to_string(), change.to_string()))
                .collect(),
            effective: in_force(documents, design)
                .map(|(by, one)| EffectiveRow {
                    cars: one.cars.to_string(),
                    from: one.from.to_string(),
                    entry: (address::entry(*by), by.to_string()),
                    said: said.remove(by),
                })
                .collect(),
        }
    }
}

/// What was said of a design: from when it is in force for which cars.
fn in_force<'a>(
    documents: &'a Documents,
    design: &'a CarType,
) -> impl Iterator<Item = &'a (Seq, Effectivity)> {
    let said = documents.effectivities(&design.name).iter();
    said.filter(move |(_, one)| one.revision == design.revision)
}
