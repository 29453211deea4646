//! From a question in words to its answer: the one way that pages, answers and the command line
//! take.

use super::asked::disputed::{tell_of_question, tell_of_verdicts};
use super::asked::{self, AskedField, UnreadableFields, Words};
use super::stored::StoredIn;
use super::{Decision, Question, Supposed, TrainCar, decide};
use crate::rule_set::RuleSet;
use crate::time::{Day, Instant};
use crate::unreadable::Unreadable;
use crate::worked::{Missing, MissingFact};

/// A question in words with its answer.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The words, with those that were assumed.
    pub words: Words,
    /// The fields that were assumed.
    pub assumed: Vec<AskedField>,
    /// The fields that cannot be read; then there is no decision.
    pub faults: UnreadableFields,
    /// The cars asked about; none where one of them has no brake circuit.
    pub cars: Vec<TrainCar>,
    /// The decision, or why there is none.
    pub decision: Result<Decision, Missing>,
}

impl Answer {
    /// The question that it answers; none where it could not be read.
    pub fn question(&self, supposed: Vec<Supposed>) -> Option<Question> {
        let asked = self.words.read().ok()?;
        asked.question(self.cars.clone(), supposed).ok()
    }

    /// Why a field was assumed, where it was and nothing else in the answer says why.
    pub fn because(&self, field: AskedField) -> Option<&'static str> {
        let assumed = self.assumed.contains(&field);
        assumed.then(|| asked::because(field, &self.cars)).flatten()
    }

    /// The reservoirs that nothing feeds any more, with what was supposed; none where there is no
    /// decision either.
    pub fn stored_air(&self, supposed: &[Supposed]) -> Vec<StoredIn> {
        let question = self.question(supposed.to_vec());
        let found = question.and_then(|question| question.stored_air().ok());
        found.unwrap_or_default()
    }
}

/// A question in words, read.
#[derive(Debug, Clone)]
pub struct Asking {
    /// The words, with those that were assumed.
    pub words: Words,
    /// The fields that were assumed.
    pub assumed: Vec<AskedField>,
    /// The fields that cannot be read; then there is no question.
    pub faults: UnreadableFields,
    /// The cars asked about; none where one of them has no brake circuit.
    pub cars: Vec<TrainCar>,
    /// The question, or why there is none.
    pub question: Result<Question, Missing>,
}

/// When something is asked: the moment, by which cut-outs have stood for some time, and its day, on
/// which the train runs.
pub type When = (Instant, Day);

/// The rule sets in force on a day, and when that is.
pub type Rules<'a> = (&'a [&'a RuleSet], When);

/// Reads a question in words about some cars. A supposition about a car or position that the
/// train does not have is no question at all.
pub fn ask(
    mut words: Words,
    cars: Result<Vec<TrainCar>, Missing>,
    supposed: Vec<Supposed>,
    (rule_sets, (at, day)): Rules<'_>,
) -> Result<Asking, Unreadable> {
    let known = cars.as_deref().unwrap_or_default();
    if cars.is_ok() {
        supposed.iter().try_for_each(|one| one.check_in(known))?;
    }
    let assumed = words.assume(known, rule_sets);
    let spelt = words.spell_route(rule_sets);
    let read = match (words.read(), spelt) {
        (read, Ok(())) => read,
        (Ok(_), Err(fault)) => Err(vec![fault]),
        (Err(mut faults), Err(fault)) => {
            faults.retain(|(field, _)| *field != fault.0);
            faults.push(fault);
            Err(faults)
        }
    };
    let (faults, question) = match (read, &cars) {
        (Err(faults), _) => {
            let missing = unread(&faults);
            (faults, Err(missing))
        }
        (Ok(_), Err(missing)) => (Vec::new(), Err(missing.clone())),
        (Ok(mut asked), Ok(cars)) => {
            (asked.way.at, asked.way.day) = (Some(at), Some(day));
            let question = asked.question(cars.clone(), supposed);
            let disputed = words.disputed(rule_sets);
            (Vec::new(), tell_of_question(question, &disputed))
        }
    };
    Ok(Asking {
        words,
        assumed,
        faults,
        cars: cars.unwrap_or_default(),
        question,
    })
}

/// Answers a question in words about some cars under some rule sets, read as [`ask`] reads it.
pub fn answer(
    words: Words,
    cars: Result<Vec<TrainCar>, Missing>,
    supposed: Vec<Supposed>,
    (rule_sets, when): Rules<'_>,
) -> Result<Answer, Unreadable> {
    let Asking {
        words,
        assumed,
        faults,
        cars,
        question,
    } = ask(words, cars, supposed, (rule_sets, when))?;
    let mut decision = question.and_then(|question| decide(&question, rule_sets));
    if let Ok(decision) = &mut decision {
        tell_of_verdicts(decision, &words.disputed(rule_sets));
    }
    Ok(Answer {
        words,
        assumed,
        faults,
        cars,
        decision,
    })
}

fn unread(faults: &UnreadableFields) -> Missing {
    let fact = |(field, _): &(AskedField, Unreadable)| MissingFact {
        what: field.to_string(),
        of: "the question, where it cannot be read".to_owned(),
    };
    Missing(faults.iter().map(fact).collect())
}
