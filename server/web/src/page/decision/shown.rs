//! What of an answer is shown, and how: the methods of the diagram and of the table of speeds,
//! whether every step stands unfolded, and of which cars the positions are listed. It belongs to
//! the address and not to the question.

use domain::braking::stopping_distance::Method;
use domain::decision::{METHODS, StoppingPair};
use domain::identity::CarNumber;
use domain::unreadable::Unreadable;

/// The name of a chosen method in an address.
pub(crate) const METHOD: &str = "method";
/// The name of the choice of steps in an address.
pub(crate) const STEPS: &str = "steps";
/// The name of a car whose positions are listed in an address.
pub(crate) const LIST: &str = "list";

/// Whether the steps stand unfolded, on screen and on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Steps {
    /// Only what they lead to.
    #[default]
    Folded,
    /// Every one.
    Every,
}

impl Steps {
    const EVERY: &str = "every";

    /// Whether they stand unfolded.
    pub(crate) fn are_unfolded(self) -> bool {
        self == Self::Every
    }
}

/// What is shown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Shown {
    /// The methods that were chosen; none where nobody chose.
    methods: Vec<Method>,
    /// The steps.
    pub(crate) steps: Steps,
    /// The cars whose positions are listed though nothing is cut out on them.
    listed: Vec<CarNumber>,
}

impl Shown {
    /// Reads it from a query.
    pub(crate) fn read(query: &[(String, String)]) -> Result<Self, Unreadable> {
        let mut shown = Self::default();
        for (name, value) in query {
            match name.as_str() {
                METHOD => shown.choose(value)?,
                STEPS if value == Steps::EVERY => shown.steps = Steps::Every,
                STEPS if !value.is_empty() => {
                    return Err(Unreadable::new(STEPS, value, Steps::EVERY));
                }
                LIST => shown.list(value.parse()?),
                _ => {}
            }
        }
        Ok(shown)
    }

    fn choose(&mut self, value: &str) -> Result<(), Unreadable> {
        let method = METHODS.iter().find(|method| method.name() == value);
        let method = method.ok_or_else(|| {
            let names: Vec<&str> = METHODS.iter().map(|method| method.name()).collect();
            Unreadable::new(METHOD, value, format!("one of {}", names.join(", ")))
        })?;
        if !self.methods.contains(method) {
            self.methods.push(*method);
        }
        Ok(())
    }

    fn list(&mut self, car: CarNumber) {
        if !self.lists(&car) {
            self.listed.push(car);
        }
    }

    /// Its part of an address.
    pub(crate) fn pairs(&self) -> Vec<(&'static str, String)> {
        let methods = self.methods.iter();
        let mut pairs: Vec<_> = methods.map(|m| (METHOD, m.name().to_owned())).collect();
        if self.steps.are_unfolded() {
            pairs.push((STEPS, Steps::EVERY.to_owned()));
        }
        let listed = self.listed.iter();
        pairs.extend(listed.map(|car| (LIST, car.to_string())));
        pairs
    }

    /// The same with the steps shown otherwise.
    pub(crate) fn with_steps(&self, steps: Steps) -> Self {
        Self {
            steps,
            ..self.clone()
        }
    }

    /// The same with the positions of one car more.
    pub(crate) fn with_list_of(&self, car: &CarNumber) -> Self {
        let mut shown = self.clone();
        shown.list(car.clone());
        shown
    }

    /// Whether the positions of a car were asked for.
    pub(crate) fn lists(&self, car: &CarNumber) -> bool {
        self.listed.contains(car)
    }

    /// Whether a method is shown: every one where none was chosen.
    pub(crate) fn shows(&self, method: Method) -> bool {
        self.methods.is_empty() || self.methods.contains(&method)
    }

    /// Those of a decision's methods that are shown.
    pub(crate) fn chosen<'a>(&self, pairs: &'a [StoppingPair]) -> Vec<&'a StoppingPair> {
        let all = pairs.iter();
        all.filter(|pair| self.shows(pair.method)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(query: &[(&str, &str)]) -> Result<Shown, Unreadable> {
        let own = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
        Shown::read(&query.iter().map(own).collect::<Vec<_>>())
    }

    #[test]
    fn without_a_choice_every_method_is_shown_and_every_step_folded() {
        let shown = read(&[("speed", "120")]).expect("a choice");
        assert!(METHODS.iter().all(|method| shown.shows(*method)));
        assert!(!shown.steps.are_unfolded());
        assert_eq!(shown.pairs(), []);
    }

    #[test]
    fn a_choice_reads_back_as_it_is_written() {
        let query = [("method", "forces"), ("steps", "every"), ("list", "4101")];
        let shown = read(&query).expect("a choice");
        assert!(shown.shows(Method::Forces) && !shown.shows(Method::ConversionNominal));
        assert_eq!(
            shown.pairs(),
            query.map(|(name, value)| (name, value.to_owned()))
        );
        assert_eq!(shown.with_steps(Steps::Folded).pairs().len(), 2);
    }

    #[test]
    fn what_is_no_choice_is_refused() {
        assert!(read(&[("method", "mean_value")]).is_err());
        assert!(read(&[("steps", "some")]).is_err());
        assert!(read(&[("list", "a car \u{0}")]).is_err());
    }
}
