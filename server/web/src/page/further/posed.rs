//! A question about a train as it stands in an address, with what a page asks beyond it.

use crate::failure::Failure;
use crate::page::decision::answered::{rule_sets, train_cars};
use crate::page::decision::link::QuestionLink;
use domain::configuration::car::Vehicle;
use domain::configuration::component::PositionRef;
use domain::decision::answer::{Asking, When, ask};
use domain::ledger::dossier::Documents;
use domain::rule_set::RuleSet;
use domain::time::Day;
use domain::unreadable::Unreadable;
use std::str::FromStr;
use std::sync::Arc;
use store::read::formations::CarInTrain;
use store::read::{AsAt, View};

/// The names of the fields that these pages ask for beyond the question.
const FIELDS: [&str; 8] = [
    "car", "position", "mode", "during", "seen", "saw", "supply", "by",
];

/// What is asked beyond the question.
#[derive(Debug, Clone)]
pub(crate) struct Extra(Vec<(String, String)>);

impl Extra {
    /// Tells these fields from those of the question.
    pub(crate) fn split(query: Vec<(String, String)>) -> (Self, Vec<(String, String)>) {
        let mine = |(name, _): &(String, String)| FIELDS.contains(&name.as_str());
        let (extra, question) = query.into_iter().partition(mine);
        (Self(extra), question)
    }

    /// All that was given, to write it otherwise.
    pub(crate) fn pairs_mut(&mut self) -> &mut [(String, String)] {
        &mut self.0
    }

    /// A field; empty where it was not given.
    pub(crate) fn text(&self, name: &str) -> &str {
        self.all(name).next().unwrap_or_default()
    }

    /// Each value of a field.
    pub(crate) fn all(&self, name: &str) -> impl Iterator<Item = &str> {
        let named = self.0.iter().filter(move |(key, _)| key == name);
        named.map(|(_, value)| value.trim())
    }

    /// A field in its core type; none where it was not given or is empty.
    pub(crate) fn read<T: FromStr<Err = Unreadable>>(
        &self,
        name: &str,
    ) -> Result<Option<T>, Unreadable> {
        let given = Some(self.text(name)).filter(|text| !text.is_empty());
        given.map(str::parse).transpose()
    }

    /// The position asked about; none where none was given.
    pub(crate) fn position(&self) -> Result<Option<PositionRef>, Unreadable> {
        let (car, position) = (self.read("car")?, self.read("position")?);
        Ok(car
            .zip(position)
            .map(|(car, position)| PositionRef { car, position }))
    }
}

/// A question with what is asked beyond it.
#[derive(Debug, Clone)]
pub(crate) struct Posed {
    pub(crate) link: QuestionLink,
    pub(crate) extra: Extra,
    pub(crate) asking: Asking,
    pub(crate) documents: Arc<Documents>,
    day: Day,
}

impl Posed {
    /// The rule sets in force.
    pub(crate) fn rule_sets(&self) -> Vec<&RuleSet> {
        rule_sets(&self.documents, self.day)
    }
}

/// Reads the train from the register: four statements, and one more where a place holds nothing.
pub(crate) async fn pose(
    view: &mut View,
    vehicles: &[Vehicle],
    (link, extra): (QuestionLink, Extra),
    when: When,
) -> Result<Posed, Failure> {
    let cars = view.formation(vehicles, Some(when.1)).await??;
    posed((&cars, &view.documents), (link, extra), when)
}

/// The same of a past time: at most eleven statements.
pub(crate) async fn pose_then(
    view: &mut View,
    vehicles: &[Vehicle],
    (link, extra): (QuestionLink, Extra),
    (as_at, day): (AsAt, Day),
) -> Result<Posed, Failure> {
    let cars = view.formation_told(vehicles, as_at).await??;
    let when = (as_at.effective, day);
    posed((&cars, &view.documents), (link, extra), when)
}

fn posed(
    (cars, documents): (&[CarInTrain], &Arc<Documents>),
    (link, extra): (QuestionLink, Extra),
    (at, day): When,
) -> Result<Posed, Failure> {
    let asking = ask(
        link.given.clone(),
        train_cars(cars, documents, day),
        link.supposed.clone(),
        (&rule_sets(documents, day), (at, day)),
    )?;
    Ok(Posed {
        link,
        extra,
        asking,
        documents: Arc::clone(documents),
        day,
    })
}
