//! The address of a question: everything that is asked stands in it, so that it can be sent to a
//! colleague.

use super::shown::{LIST, METHOD, STEPS, Shown, Steps};
use crate::address::encoded;
use crate::as_at::AsAtQuery;
use domain::decision::asked::{AskedField, Words};
use domain::decision::supposed::supposed;
use domain::decision::{Standing, Supposed};
use domain::identity::CarNumber;
use domain::unreadable::Unreadable;

/// The name of a supposition in an address.
pub(crate) const CLOSE: &str = "close";
/// The name of an ad hoc formation in an address.
pub(crate) const FORMATION: &str = "formation";

/// What an address asks.
#[derive(Debug, Clone)]
pub(crate) struct QuestionLink {
    /// The path: that of a train, or of an ad hoc formation.
    path: String,
    /// The formation, where it is not that of a train.
    formation: Option<String>,
    /// The fields of the question that were given.
    pub(crate) given: Words,
    /// What is supposed.
    pub(crate) supposed: Vec<Supposed>,
    /// The times that are told of, as they were typed; empty for now.
    pub(crate) times: AsAtQuery,
    /// What of the answer is shown.
    pub(crate) shown: Shown,
    /// Whether it is written as this type writes it.
    pub(crate) form: Form,
}

/// How an address was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Form {
    /// As we write it.
    Ours,
    /// As a form of the page sends it, with fields left empty: to be written shorter.
    Sent,
}

impl QuestionLink {
    /// Reads the query of an address. A position and a state in fields of their own are one
    /// supposition more.
    pub(crate) fn read(path: String, query: &[(String, String)]) -> Result<Self, Unreadable> {
        all_are_known(query)?;
        let value = |name: &str| {
            let mut pairs = query.iter().filter(|(key, _)| key == name);
            pairs.next().map(|(_, value)| value.trim())
        };
        let mut closed: Vec<String> = query
            .iter()
            .filter(|(key, value)| key == CLOSE && !value.is_empty())
            .map(|(_, value)| value.clone())
            .collect();
        let place = value("place").filter(|place| !place.is_empty());
        if let (Some(place), Some(state)) = (place, value("state")) {
            closed.push(format!("{place}:{state}"));
        }
        let mut given = Words::default();
        for field in AskedField::ALL {
            if let Some(text) = value(field.name()) {
                given.put(*field, text);
            }
        }
        let sent =
            |(key, value): &(String, String)| key == "place" || key == CLOSE && value.is_empty();
        Ok(Self {
            path,
            formation: value(FORMATION).map(str::to_owned),
            given,
            supposed: supposed(closed.iter().map(String::as_str))?,
            times: AsAtQuery::default(),
            shown: Shown::read(query)?,
            form: if query.iter().any(sent) {
                Form::Sent
            } else {
                Form::Ours
            },
        })
    }

    /// The same question about other times.
    pub(crate) fn of_times(self, times: AsAtQuery) -> Self {
        Self { times, ..self }
    }

    /// Whether it is about a past time.
    pub(crate) fn is_of_then(&self) -> bool {
        self.times.given().next().is_some()
    }

    /// As it stands, unless something is supposed.
    pub(crate) fn standing(&self) -> Standing {
        if self.supposed.is_empty() {
            Standing::AsItStands
        } else {
            Standing::WhatIf
        }
    }

    /// How what it is about stands, in a word for programs.
    pub(crate) fn standing_name(&self) -> &'static str {
        match (self.standing(), self.is_of_then()) {
            (standing, false) => standing.name(),
            (Standing::AsItStands, true) => "as_it_stood",
            (Standing::WhatIf, true) => "what_if_then",
        }
    }

    /// The path without its query, for forms.
    pub(crate) fn path(&self) -> &str {
        &self.path
    }

    /// The formation asked for, where it is not that of a train.
    pub(crate) fn formation(&self) -> Option<&str> {
        self.formation.as_deref()
    }

    /// Everything that stands in the address.
    pub(crate) fn pairs(&self) -> Vec<(&'static str, String)> {
        self.pairs_with(&self.supposed)
    }

    fn pairs_with(&self, supposed: &[Supposed]) -> Vec<(&'static str, String)> {
        let mut pairs: Vec<(&str, String)> = Vec::new();
        pairs.extend(self.formation.iter().map(|f| (FORMATION, f.clone())));
        pairs.extend(self.fields().map(|(name, text)| (name, text.to_owned())));
        pairs.extend(supposed.iter().map(|one| (CLOSE, one.to_string())));
        pairs.extend(self.times.given());
        pairs.extend(self.shown.pairs());
        pairs
    }

    /// The address with these suppositions.
    fn with(&self, supposed: &[Supposed]) -> String {
        let pairs = self.pairs_with(supposed);
        let query: Vec<String> = pairs
            .iter()
            .map(|(name, value)| format!("{name}={}", encoded(value)))
            .collect();
        match query.as_slice() {
            [] => self.path.clone(),
            query => format!("{}?{}", self.path, query.join("&")),
        }
    }

    /// The fields given, with their names.
    pub(crate) fn fields(&self) -> impl Iterator<Item = (&'static str, &str)> {
        let given = |field: &AskedField| Some((field.name(), self.given.get(*field)?));
        AskedField::ALL.iter().filter_map(given)
    }

    /// The same question.
    pub(crate) fn same(&self) -> String {
        self.with(&self.supposed)
    }

    /// The same question with its steps shown otherwise.
    pub(crate) fn with_steps(&self, steps: Steps) -> String {
        self.showing(self.shown.with_steps(steps))
    }

    /// The same question with the positions of a car listed.
    pub(crate) fn with_list_of(&self, car: &CarNumber) -> String {
        self.showing(self.shown.with_list_of(car))
    }

    fn showing(&self, shown: Shown) -> String {
        let other = Self {
            shown,
            ..self.clone()
        };
        other.same()
    }

    /// The same question with other suppositions.
    pub(crate) fn supposing(&self, supposed: &[Supposed]) -> String {
        self.with(supposed)
    }

    /// The same question at another path, about the train as it stands.
    pub(crate) fn at(&self, path: String) -> String {
        let link = Self {
            path,
            ..self.clone()
        };
        link.as_it_stands()
    }

    /// The same question about the train as it stands.
    pub(crate) fn as_it_stands(&self) -> String {
        self.with(&[])
    }

    /// The same question without one supposition.
    pub(crate) fn without(&self, one: &Supposed) -> String {
        let others = self.supposed.iter().filter(|other| *other != one);
        self.with(&others.cloned().collect::<Vec<_>>())
    }

    /// The same question to be asked with one supposition more, of many in turn: what all their
    /// addresses share is written once.
    pub(crate) fn more(&self) -> More {
        let without_shown = Self {
            shown: Shown::default(),
            ..self.clone()
        };
        let mut before = without_shown.same();
        before.push(if before.contains('?') { '&' } else { '?' });
        let shown = self.shown.pairs().into_iter();
        let after = shown.map(|(name, value)| format!("&{name}={}", encoded(&value)));
        More {
            before,
            after: after.collect(),
        }
    }
}

/// A question that waits for one supposition more.
pub(crate) struct More {
    before: String,
    after: String,
}

impl More {
    /// The address with it; of a position of which nothing is supposed yet.
    pub(crate) fn and(&self, one: &Supposed) -> String {
        let Self { before, after } = self;
        format!("{before}{CLOSE}={}{after}", encoded(one.to_string()))
    }
}

/// What a form of the page may send more than once, and what it sends beside the question.
const REPEATED: [&str; 3] = [CLOSE, METHOD, LIST];
const OF_FORMS: [&str; 2] = ["place", "state"];

/// A field that is not known, or stands twice, is refused: a slip of the pen must not leave
/// something to be assumed.
fn all_are_known(query: &[(String, String)]) -> Result<(), Unreadable> {
    let fields = AskedField::ALL.iter().map(|field| field.name());
    let known: Vec<&str> = fields
        .chain([FORMATION, CLOSE, METHOD, STEPS, LIST])
        .collect();
    for (place, (name, value)) in query.iter().enumerate() {
        let is_known = known.contains(&name.as_str()) || OF_FORMS.contains(&name.as_str());
        if !is_known {
            let expected = format!("one of {}", known.join(", "));
            return Err(Unreadable::new("field of the question", name, expected));
        }
        if !REPEATED.contains(&name.as_str())
            && query[..place].iter().any(|(other, _)| other == name)
        {
            let expected = format!("{name} once");
            return Err(Unreadable::new("field of the question", value, expected));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(query: &[(&str, &str)]) -> QuestionLink {
        let pairs: Vec<(String, String)> = query
            .iter()
            .map(|(name, value)| ((*name).to_owned(), (*value).to_owned()))
            .collect();
        QuestionLink::read("/decision".into(), &pairs).expect("a question")
    }

    #[test]
    fn an_address_holds_everything_that_is_asked() {
        let link = read(&[
            ("formation", "TM101, TM102r"),
            ("speed", "120"),
            ("distance_to_go", ""),
            ("close", "4101:=BS1-QM1:closed_vented"),
        ]);
        assert_eq!(link.form, Form::Ours);
        let same = "/decision?formation=TM101%2C%20TM102r&speed=120&distance_to_go=\
                    &close=4101%3A%3DBS1-QM1%3Aclosed_vented";
        assert_eq!(link.same(), same);
        let without = "/decision?formation=TM101%2C%20TM102r&speed=120&distance_to_go=";
        assert_eq!(link.without(&link.supposed[0]), without);
        assert_eq!(link.as_it_stands(), without);
    }

    #[test]
    fn whatever_is_asked_of_a_past_time_is_asked_of_the_same_one() {
        let times = AsAtQuery {
            at: "2026-03-31".into(),
            known: String::new(),
        };
        let link = read(&[("speed", "120"), ("close", "1:=A1:failed")]).of_times(times);
        assert!(link.is_of_then());
        let stood = "/decision?speed=120&at=2026-03-31";
        assert_eq!(link.as_it_stands(), stood);
        let one: Supposed = "2:=B1:failed".parse().expect("a supposition");
        for address in [link.same(), link.more().and(&one)] {
            assert!(address.contains("&at=2026-03-31"), "{address}");
        }
        assert!(!link.of_times(AsAtQuery::default()).is_of_then());
    }

    #[test]
    fn what_a_form_sends_is_written_shorter() {
        let link = read(&[
            ("close", ""),
            ("close", "4101:=BS1-QM1:failed"),
            ("place", "4102:=AP-GQ1"),
            ("state", "electrically_off"),
        ]);
        assert_eq!(link.form, Form::Sent);
        assert_eq!(
            link.same(),
            "/decision?close=4101%3A%3DBS1-QM1%3Afailed&close=4102%3A%3DAP-GQ1%3Aelectrically_off"
        );
    }

    #[test]
    fn a_field_that_is_misspelt_or_stands_twice_is_refused() {
        for query in [
            vec![("sped", "120")],
            vec![("speed", "120"), ("speed", "80")],
        ] {
            let own = |(name, value): &(&str, &str)| ((*name).to_owned(), (*value).to_owned());
            let query: Vec<(String, String)> = query.iter().map(own).collect();
            assert!(
                QuestionLink::read("/decision".into(), &query).is_err(),
                "{query:?}"
            );
        }
    }

    #[test]
    fn one_supposition_more_is_written_the_same_way_alone_and_in_turn() {
        let one: Supposed = "2:=B1:failed".parse().expect("a supposition");
        for query in [
            &[][..],
            &[("speed", "120"), ("steps", "every")],
            &[
                ("formation", "TM101"),
                ("close", "1:=A1:failed"),
                ("list", "1"),
            ],
        ] {
            let link = read(query);
            let all = [&*link.supposed, std::slice::from_ref(&one)].concat();
            assert_eq!(link.more().and(&one), link.supposing(&all), "{query:?}");
        }
    }
}
