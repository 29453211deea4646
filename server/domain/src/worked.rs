//! Results with their working, and what prevents a result. A missing fact is neither an error
//! nor a default: it is an answer of its own.

use serde::Serialize;

/// A result with the steps that led to it, so that it can be checked by hand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worked<T> {
    /// The result.
    pub value: T,
    /// The steps, in the order taken.
    pub steps: Vec<Step>,
}

/// One step of a working: what was done, with which numbers, after which source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// What the step finds: "brake percentage".
    pub what: String,
    /// The formula with the numbers put in, and its outcome.
    pub working: String,
    /// Where the formula or figure comes from.
    pub source: Source,
}

/// Where a formula, figure or rule comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Source {
    /// A published document, with its place in it.
    Published(String),
    /// A fact of the trade that no public source was found for.
    CommonPractice,
    /// Entered by the operator: a car type, a rule set, an assessed value.
    Operator(String),
}

impl std::fmt::Display for Source {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Published(place) => f.write_str(place),
            Self::CommonPractice => f.write_str("common practice, no source"),
            Self::Operator(place) => write!(f, "entered: {place}"),
        }
    }
}

impl Step {
    /// A step after a published source.
    pub fn published(what: impl Into<String>, working: impl Into<String>, source: &str) -> Self {
        let source = Source::Published(source.to_owned());
        Self {
            what: what.into(),
            working: working.into(),
            source,
        }
    }
}

/// A fact that is lacking for an answer, in words that say what to enter and where.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct MissingFact {
    /// What is lacking: "braked weight".
    pub what: String,
    /// Of which thing: "car type BX-M revision A, actuator =B1-C1, normal load".
    pub of: String,
}

/// Why there is no answer: at least one fact is lacking.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing(pub Vec<MissingFact>);

impl Missing {
    /// One lacking fact.
    pub fn one(what: impl Into<String>, of: impl Into<String>) -> Self {
        Self(vec![MissingFact {
            what: what.into(),
            of: of.into(),
        }])
    }

    /// Goes on where nothing is lacking; else each fact once, in order.
    pub(crate) fn unless_none(mut facts: Vec<MissingFact>) -> Result<(), Self> {
        facts.sort();
        facts.dedup();
        if facts.is_empty() {
            Ok(())
        } else {
            Err(Self(facts))
        }
    }
}

impl std::fmt::Display for Missing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("no answer, because this is missing:")?;
        self.0
            .iter()
            .try_for_each(|fact| write!(f, " {} of {};", fact.what, fact.of))
    }
}

/// How an answer that may lack a fact is written: as `answer`, or as `missing`.
pub mod answer {
    use super::Missing;
    use serde::{Serialize, Serializer};

    #[derive(Serialize)]
    #[serde(rename_all = "snake_case")]
    enum Written<'a, T> {
        Answer(&'a T),
        Missing(&'a Missing),
    }

    /// Writes one or the other.
    pub fn serialize<T: Serialize, S: Serializer>(
        answer: &Result<T, Missing>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        let written = match answer {
            Ok(answer) => Written::Answer(answer),
            Err(missing) => Written::Missing(missing),
        };
        written.serialize(serializer)
    }
}
