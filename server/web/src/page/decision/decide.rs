//! Taking a decision: only about the train as it stands, with the verdicts beside the form, and
//! only if they still are what was seen when it is sent.

use super::answered::{Answered, answered};
use super::beside::WarningRow;
use super::follow::{OpenChecks, followed};
use super::link::{Form, QuestionLink};
use super::question::Asking;
use super::verdicts::{self, VerdictBlock};
use super::{Pairs, of_train_named};
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record_entry};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car::Train;
use domain::decision::asked::AskedField;
use domain::decision::taken::{DecisionTaken, Found};
use domain::decision::told::Told;
use domain::decision::{Decision, Standing, counted_until};
use domain::identity::{Revision, RuleSetName, TrainId};
use domain::ledger::chain::shown;
use domain::ledger::dossier::Formed;
use domain::ledger::fact::Fact;
use domain::people::DECIDES;
use domain::time::{Instant, Zone};
use domain::unreadable::Unreadable;
use domain::worked::MissingFact;
use sha2::{Digest, Sha256};

/// How many people the form asks for.
const TOLD_FIELDS: [(&str, &str); 3] = [
    ("told_1", "told_1_at"),
    ("told_2", "told_2_at"),
    ("told_3", "told_3_at"),
];

#[derive(Template)]
#[template(path = "decision/decide.html")]
struct DecidePage {
    frame: Frame,
    train: String,
    href: String,
    /// The trains formed later that cars of it are in.
    formed_later: Vec<TrainId>,
    /// Whether a decision was sent and not recorded.
    refused: bool,
    verdicts: Vec<VerdictBlock>,
    warnings: Vec<WarningRow>,
    /// Until when stored air is counted in the verdicts, in words.
    counted_until: Option<String>,
    missing: Vec<MissingFact>,
    checks: OpenChecks,
    asking: Asking,
    day: String,
    form: Option<EntryForm>,
}

/// What is decided about.
struct Subject {
    train: Formed<Train>,
    /// The trains formed later that cars of it are in: nothing is decided about it then.
    formed_later: Vec<TrainId>,
    answered: Answered,
    link: QuestionLink,
    /// What each rule set in force finds, where it gives a verdict; the strictest first, so that
    /// nobody goes by a milder one unasked.
    found: Vec<(RuleSetName, Revision, Found)>,
}

impl Subject {
    async fn read(
        state: &WebState,
        train: &str,
        query: &[(String, String)],
    ) -> Result<Self, Failure> {
        let id: TrainId = train.parse()?;
        let back = |failure: Failure| failure.of_train(&id);
        let link =
            QuestionLink::read(address::decide(&id), query).map_err(|why| back(why.into()))?;
        if link.standing() == Standing::WhatIf || link.form == Form::Sent {
            let expected = "nothing supposed: a decision is taken about the train as it stands";
            return Err(back(
                Unreadable::new("supposition", &link.same(), expected).into(),
            ));
        }
        let mut view = state.store.view().await?;
        let train = of_train_named(&mut view, &id).await?;
        let formed_later = view.formed_later(&train).await?;
        let vehicles = &train.formation.vehicles;
        let answered = answered(&mut view, vehicles, &link, state.when()).await;
        let answered = answered.map_err(back)?;
        let decision = answered.answer.decision.as_ref().ok();
        let strictest_first = decision.map_or(Vec::new(), Decision::strictest_first);
        let found = strictest_first.into_iter().filter_map(|verdict| {
            let found = answered.answer.found(&verdict.name).ok()?;
            Some((verdict.name.clone(), verdict.revision.clone(), found))
        });
        Ok(Self {
            found: found.collect(),
            train,
            formed_later,
            answered,
            link,
        })
    }

    /// What stands for all that was found: another answer has another mark.
    fn seen(&self) -> String {
        let mut hasher = Sha256::new();
        hasher.update(self.train.by.0.to_be_bytes());
        for (name, revision, found) in &self.found {
            let body = serde_json::to_vec(found).unwrap_or_default();
            for text in [
                name.as_str().as_bytes(),
                revision.as_str().as_bytes(),
                &body,
            ] {
                hasher.update((text.len() as u64).to_be_bytes());
                hasher.update(text);
            }
        }
        shown(&hasher.finalize().into())
    }

    fn form(&self, frame: &Frame) -> EntryForm {
        let id = &self.train.formation.id;
        let page = address::train(id);
        let mut form = EntryForm::new("decide", &page, format!("Decide about train {id}"))
            .button("Record the decision")
            .bring("seen", self.seen());
        for (name, text) in self.link.fields() {
            form = form.bring(name, text);
        }
        let choice = |(name, revision, found): &(RuleSetName, Revision, Found)| {
            let words = format!("{name} {revision}: {}", found.permission.headline());
            (rule_set_value(name, revision), words)
        };
        let choices: Vec<_> = self.found.iter().map(choice).collect();
        let form = form
            .ask(
                Field::one_of("rule_set", "By which rule set", choices)
                    .hint("Its verdict is recorded as the register finds it.")
                    .required(),
            )
            .ask(
                Field::text("decided_by", "Who decides")
                    .with_value(frame.person.clone().unwrap_or_default())
                    .hint("The authorised person, by name; it need not be whoever records it.")
                    .required(),
            );
        TOLD_FIELDS.iter().fold(form, |form, (who, when)| {
            form.ask(Field::text(who, "Told").hint(
                "Driver, signaller, controller; may stay empty. Whoever is told later is \
                     confirmed among the checks of the train.",
            ))
            .ask(Field::text(when, "Told when").hint("Empty: when it was decided."))
        })
    }

    fn asked(&self, fields: &Fields, now: Now<'_>) -> Asked {
        let mut errors = FieldErrors::default();
        let decided_by = fields.required("decided_by", &mut errors);
        let moment = fields.moment("at", now, &mut errors);
        let told = told(fields, (now.0, moment.unwrap_or(now.1)), &mut errors);
        let chosen = fields.text("rule_set");
        let mut found = self.found.iter();
        let found = found.find(|(name, revision, _)| rule_set_value(name, revision) == chosen);
        if found.is_none() {
            errors.add(
                "rule_set",
                "expected a rule set in force that gives a verdict",
            );
        } else if fields.text("seen") != self.seen() {
            errors.add(
                "rule_set",
                "the answer has changed since you saw it; look again at the verdicts above",
            );
        }
        match (decided_by, moment, found) {
            (Some(decided_by), Some(moment), Some((name, revision, found)))
                if errors.is_empty() =>
            {
                let taken = DecisionTaken {
                    train: self.train.formation.id.clone(),
                    formed_by: self.train.by,
                    rule_set: name.clone(),
                    revision: revision.clone(),
                    asked: self.answered.answer.asked(),
                    assumed: self.answered.answer.assumed.clone(),
                    found: found.clone(),
                    decided_by,
                    told,
                };
                Ok((Fact::DecisionTaken(Box::new(taken)), moment))
            }
            _ => Err(errors),
        }
    }

    fn page(&self, state: &WebState, signed_in: &SignedIn, tried: Option<&Tried>) -> DecidePage {
        let frame = Frame::new(state, signed_in);
        let answer = &self.answered.answer;
        let decision = answer.decision.as_ref().ok();
        let id = &self.train.formation.id;
        let runs = self.formed_later.is_empty();
        let may = frame.holds(DECIDES) && !self.found.is_empty() && runs;
        let form = may.then(|| self.form(&frame).finish(tried));
        DecidePage {
            train: id.to_string(),
            href: address::train(id),
            formed_later: self.formed_later.clone(),
            refused: tried.is_some(),
            verdicts: decision.map_or(Vec::new(), verdicts::blocks),
            warnings: decision.map_or(Vec::new(), |decision| {
                WarningRow::all(decision, &self.link.times)
            }),
            counted_until: decision
                .and_then(|decision| decision.counted_until)
                .map(|until| counted_until(until, &state.zone)),
            checks: OpenChecks::of(
                decision.map_or(&[], |decision| &decision.checks),
                &followed(&self.answered.cars, Some(self.train.by), None),
            ),
            missing: answer
                .decision
                .as_ref()
                .err()
                .map_or(Vec::new(), |missing| missing.0.clone()),
            asking: Asking {
                elsewhere: self.link.at(address::train(id)),
                ..Asking::new(answer, &self.link)
            },
            day: state.today().to_string(),
            form,
            frame,
        }
    }
}

fn rule_set_value(name: &RuleSetName, revision: &Revision) -> String {
    format!("{name}/{revision}")
}

fn told(fields: &Fields, (zone, moment): (&Zone, Instant), errors: &mut FieldErrors) -> Vec<Told> {
    let mut told = Vec::new();
    for (who, when) in TOLD_FIELDS {
        let name = fields.text(who);
        if name.is_empty() {
            if !fields.text(when).is_empty() {
                errors.add(who, "expected who was told then, by name or function");
            }
            continue;
        }
        if let Some(at) = fields.moment(when, (zone, moment), errors) {
            let who = name.to_owned();
            let one = Told { who, at };
            if one.is_before(moment) {
                errors.add(when, "expected a time not before the decision");
            }
            told.push(one);
        }
    }
    told
}

/// `GET /trains/{train}/decide?…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(train): Path<String>,
    Query(query): Pairs,
) -> PageResult {
    let subject = Subject::read(&state, &train, &query).await?;
    page(&subject.page(&state, &signed_in, None))
}

/// `POST /trains/{train}/decide`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path(train): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let asked_fields = |field: &&AskedField| submitted.fields.0.contains_key(field.name());
    let query: Vec<(String, String)> = AskedField::ALL
        .iter()
        .filter(asked_fields)
        .map(|field| {
            let text = submitted.fields.text(field.name());
            (field.name().to_owned(), text.to_owned())
        })
        .collect();
    let subject = Subject::read(&state, &train, &query).await?;
    let asks = |now: Now<'_>| subject.asked(&submitted.fields, now);
    match record_entry(&state, &submitted, "decide", &asks).await? {
        Ok(entry) => Ok(Redirect::to(&address::decision(entry)).into_response()),
        Err(tried) => {
            let shown = subject.page(&state, &submitted.signed_in, Some(&tried));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
