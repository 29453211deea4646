//! What could not be read or was refused, and what builds on it: an error is told once, not
//! again with every row that refers to what it is about.

use super::error::{InputError, Located, Location};
use super::things::{Kind, Thing};
use domain::configuration::component::ComponentRef;
use domain::configuration::held::Held;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use serde::{Serialize, Serializer};
use std::collections::HashMap;
use std::fmt;

/// All that is wrong with a row, or with rows that belong together, and what they would have
/// brought.
#[derive(Debug, Clone, PartialEq)]
pub struct Unread {
    /// What is wrong: at least one thing.
    pub errors: Vec<InputError>,
    /// What others may refer to.
    pub(crate) things: Vec<Thing>,
    /// What is not known, for want of which it could not be read.
    wants: Option<Thing>,
    /// What is looked at in its place, so that others which refer to what it would have brought are
    /// judged: what is wrong is wrong in cells by which no other row is judged.
    pub(crate) stand_ins: Vec<Located<Command>>,
}

impl Unread {
    pub(crate) fn new(errors: Vec<InputError>, things: impl IntoIterator<Item = Thing>) -> Self {
        let things = things.into_iter().collect();
        Self {
            errors,
            things,
            wants: None,
            stand_ins: Vec::new(),
        }
    }

    /// The same, of what could not be read for want of something.
    pub(crate) fn for_want_of(self, wants: Option<Thing>) -> Self {
        Self { wants, ..self }
    }

    /// The same with what is looked at in its place.
    pub(crate) fn standing_in(self, stand_ins: Vec<Located<Command>>) -> Self {
        Self { stand_ins, ..self }
    }

    /// What it refers to, where that is all that is wrong with it.
    pub(crate) fn refers(&self) -> Option<Refers> {
        let [error] = self.errors.as_slice() else {
            return None;
        };
        Some(Refers {
            location: error.location.clone(),
            brings: self.things.first().cloned(),
            needs: self.wants.iter().cloned().collect(),
            host: None,
            stands: Stands::ForItself,
        })
    }
}

impl From<Vec<InputError>> for Unread {
    fn from(errors: Vec<InputError>) -> Self {
        Self::new(errors, None)
    }
}

impl From<InputError> for Unread {
    fn from(error: InputError) -> Self {
        vec![error].into()
    }
}

/// Where a command comes from, what it brings and what it refers to.
#[derive(Debug, Clone)]
pub struct Refers {
    /// Its row.
    pub location: Location,
    brings: Option<Thing>,
    needs: Vec<Thing>,
    /// The assembly in which it fits something.
    host: Option<ComponentRef>,
    stands: Stands,
}

/// What a command is looked at for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    /// Itself.
    ForItself,
    /// A row in which something is wrong that was told.
    InForAnother,
    /// The components that it names: something else that it refers to is wanting.
    ItsNames,
}

impl Refers {
    /// What a command refers to.
    pub fn of(located: &Located<Command>) -> Self {
        let fact = &located.value.fact;
        Self {
            location: located.location.clone(),
            brings: Thing::brought_by(fact),
            needs: Thing::needed_by(fact),
            host: match fact {
                Fact::Fitted(fitting) => fitting.at.assembly().cloned(),
                _ => None,
            },
            stands: Stands::ForItself,
        }
    }

    /// The same of a command that stands in for a row in which something is wrong.
    #[must_use]
    pub fn standing_in(self) -> Self {
        let stands = Stands::InForAnother;
        Self { stands, ..self }
    }

    /// The same of one that is looked at for the components that it names alone; none where it names
    /// none.
    pub(crate) fn for_its_names(self) -> Option<Self> {
        let names = self.needs.iter().any(Thing::is_component);
        let stands = Stands::ItsNames;
        names.then_some(Self { stands, ..self })
    }

    /// Whether it is looked at for the components that it names alone.
    pub fn is_only_named(&self) -> bool {
        self.stands == Stands::ItsNames
    }

    /// Whether a refusal is about the assembly in which something is fitted, and not about that.
    pub(crate) fn is_of_host(&self, refusal: &Refusal) -> bool {
        let is = |host: &ComponentRef| match refusal {
            Refusal::Unknown { what, name } => *what == "serial" && *name == host.to_string(),
            Refusal::ConditionForbids { component, .. } => component == host,
            Refusal::HeldAsEvidence { held, .. } => {
                matches!(&**held, Held::Component(it) if it == host)
            }
            _ => false,
        };
        self.host.as_ref().is_some_and(is)
    }

    /// Whether a refusal says no more than that the register has what the row would bring, other
    /// than what stands in for it.
    pub(crate) fn is_there_already(&self, refusal: &Refusal) -> bool {
        let defined = matches!(refusal, Refusal::AlreadyDefined { .. });
        defined && self.stands == Stands::InForAnother
    }
}

/// Errors for which rows are held back; for more, each row is looked at.
const HOLDING_BACK_MAX: usize = 10_000;

/// The things that are wanting, each with the error that it is for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Wanting {
    /// By thing, the place of its error.
    things: HashMap<Thing, usize>,
    errors: Vec<Followed>,
}

/// An error and how many rows were not looked at for it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub(crate) struct Followed {
    /// Where the error is.
    #[serde(flatten)]
    location: Location,
    /// What is wanting for it.
    thing: String,
    /// How many rows; of several that make one thing together, the first.
    rows: u64,
}

impl fmt::Display for Followed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (rows, refer, were) = match self.rows {
            1 => ("1 row".to_owned(), "refers", "was"),
            rows => (format!("{rows} rows"), "refer", "were"),
        };
        let (location, thing) = (&self.location, &self.thing);
        write!(
            f,
            "{location}: {rows} {refer} to {thing}, directly or through others, and {were} not looked at"
        )
    }
}

impl Serialize for Wanting {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.followed())
    }
}

impl Wanting {
    /// Notes that things are wanting for an error.
    pub(crate) fn note(&mut self, location: &Location, things: impl IntoIterator<Item = Thing>) {
        let place = self.errors.len();
        let mut things = things.into_iter().peekable();
        let first = things.peek().filter(|_| place < HOLDING_BACK_MAX);
        let Some(first) = first else {
            return;
        };
        self.errors.push(Followed {
            location: location.clone(),
            thing: first.to_string(),
            rows: 0,
        });
        for thing in things {
            self.things.entry(thing).or_insert(place);
        }
    }

    /// Whether a command refers to something that is wanting; what it brings is then wanting too.
    pub(crate) fn holds_back(&mut self, refers: &Refers) -> bool {
        let found = refers.needs.iter().find_map(|need| self.things.get(need));
        let place = found.copied();
        self.follow(place, refers)
    }

    /// Whether a command was refused for something that is wanting: by name, or, where the refusal is
    /// about such a thing, perhaps in a row that nobody could read.
    pub(crate) fn explains(&mut self, refers: &Refers, refusal: &Refusal) -> bool {
        // Where one of its rows was told to be wrong, the others do not stand together.
        if let (Refusal::AlreadyDefined { .. }, Some(thing)) = (refusal, &refers.brings)
            && thing.kind == Kind::Procedure
        {
            let place = self.things.get(thing).copied();
            return self.follow(place, refers);
        }
        self.explains_by(refers, |need| need.may_be_wanting_by(refusal))
    }

    /// Whether a component that a command names may be one that is wanting.
    pub(crate) fn has_component_of(&self, refers: &Refers) -> bool {
        let mut named = refers.needs.iter().filter(|need| need.is_component());
        named.any(|need| need.perhaps().any(|thing| self.things.contains_key(&thing)))
    }

    /// Whether what is not known may be something that is wanting. Of a row that needs some thing of
    /// a table and does not say which, any that is wanting may be it.
    pub(crate) fn explains_unknown(&mut self, refers: &Refers) -> bool {
        self.explains_by(refers, |_| true)
    }

    fn explains_by(&mut self, refers: &Refers, may_be: impl Fn(&Thing) -> bool) -> bool {
        if self.holds_back(refers) {
            return true;
        }
        let mut needs = refers.needs.iter().filter(|need| may_be(need));
        let place = needs.find_map(|need| {
            let untold = need.perhaps().find_map(|thing| self.things.get(&thing));
            let some = self.things.iter();
            let some = some.filter(|(thing, _)| need.is_untold() && thing.untold() == *need);
            untold.or_else(|| some.map(|(_, place)| place).min())
        });
        self.follow(place.copied(), refers)
    }

    fn follow(&mut self, place: Option<usize>, refers: &Refers) -> bool {
        let followed = place.and_then(|place| Some((place, self.errors.get_mut(place)?)));
        let Some((place, followed)) = followed else {
            return false;
        };
        followed.rows += 1;
        if let Some(thing) = refers.brings.clone().filter(|thing| !thing.is_untold()) {
            self.things.entry(thing).or_insert(place);
        }
        true
    }

    /// Notes that what a refused command would have brought is wanting; of an assembly that is not
    /// known, whichever it may have been.
    pub(crate) fn refused(&mut self, refers: Refers, refusal: &Refusal) {
        let unknown = matches!(refusal, Refusal::Unknown { .. }) && refers.is_of_host(refusal);
        let Some(brings) = refers.brings else {
            return;
        };
        let all = brings.perhaps();
        let all = all.filter(|thing| *thing == brings || (unknown && !thing.is_untold()));
        self.note(&refers.location, all);
    }

    /// The errors for which rows were not looked at.
    pub(crate) fn followed(&self) -> impl Iterator<Item = &Followed> {
        self.errors.iter().filter(|followed| followed.rows != 0)
    }
}
