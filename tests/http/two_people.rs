//! What needs two people is not passed by one of them, whichever roles they hold and by whichever
//! way they come: as a program with the session or with a token of their own, or on the page.

use std::collections::BTreeSet;

use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::{Outcome, Proposal, ProposalKind};
use domain::people::Role;
use domain::people::roles::Roles;
use reqwest::header::AUTHORIZATION;
use reqwest::{Method, RequestBuilder};
use serde_json::{Value, json};
use store::account::{NewAccount, Secret};
use tests::each_database;
use tests::page::Page;
use tests::proposals;
use tests::register::Register;
use tests::visitor::Visitor;
use uuid::Uuid;

use super::approvals::second;
use super::sample::{NOW, Served, now};

/// One person who holds, in one account, each role that proposes anything.
const HEATH: &str = "Heath";

async fn heath(served: &Served) -> Visitor {
    let roles = vec![Role::Planner, Role::Controller, Role::BrakeEngineer];
    let account = NewAccount {
        name: HEATH.parse().unwrap(),
        roles: Roles::together(roles).unwrap(),
        secret: Secret::None,
    };
    let by = "test".parse().unwrap();
    served
        .store
        .make_account(&account, (&by, now()))
        .await
        .unwrap();
    let visitor = served.visitor();
    let form = visitor.request(Method::POST, "/sign-in");
    visitor.send(form.form(&[("name", HEATH)])).await;
    visitor
}

/// A token by which a program acts as somebody who is a brake engineer.
async fn token(visitor: &Visitor) -> String {
    let page = visitor.get("/my-account").await;
    let form = page.form("form[action=\"/my-account/tokens\"]");
    let form = form.fill("token_name", "approvals").fill("days", "30");
    let form = form.fill("record_brake_engineer", "on");
    visitor.submit(&form).await.text("#token")
}

/// A fact to be recorded, as a program sends it.
fn entry(visitor: &Visitor, fact: &Value) -> RequestBuilder {
    let body = json!({
        "id": Uuid::new_v4(), "effective_at": NOW, "reason": "for the test", "fact": fact,
    });
    let request = visitor.request(Method::POST, "/api/v1/entries");
    let request = request.header("content-type", "application/json");
    request.body(body.to_string())
}

/// Sends a fact with the session of somebody.
async fn send(visitor: &Visitor, fact: &Fact) -> Page {
    send_json(visitor, &json!(fact)).await
}

/// The same of what need be no fact.
async fn send_json(visitor: &Visitor, fact: &Value) -> Page {
    let session = visitor.get("/api/v1/session").await.json();
    let token = session["form_token"].as_str().unwrap().to_owned();
    let request = entry(visitor, fact).header("x-form-token", token);
    visitor.send(request).await
}

/// Sends a fact with a token and without a session.
async fn send_by_program(served: &Served, token: &str, fact: &Fact) -> Page {
    let program = served.visitor();
    let request = entry(&program, &json!(fact)).header(AUTHORIZATION, format!("Bearer {token}"));
    program.send(request).await
}

/// Tries on the page to approve a proposal of one's own, which offers only to take it back.
async fn forge(visitor: &Visitor, proposal: Seq) -> Page {
    let page = visitor.get("/approvals").await;
    let of_proposal = format!("#entry-{}", proposal.0);
    let approve = format!("{of_proposal} input[value=approved]");
    assert_eq!(page.count(&approve), 0, "{proposal}");
    let take_back = page.form(&format!("{of_proposal} form"));
    visitor
        .submit(&take_back.forge("outcome", "approved"))
        .await
}

async fn nobody_approves_their_own_proposal_of_any_kind_by_any_way(url: &str) {
    let mut register = Register::open(url).await;
    let proposals = proposals::found(&mut register).await;
    let kinds: BTreeSet<ProposalKind> = proposals.iter().map(Proposal::kind).collect();
    assert!(kinds.iter().eq(ProposalKind::ALL), "every kind is tried");
    let served = Served::empty(url).await;
    let heath = heath(&served).await;
    let token = token(&heath).await;
    let other = second(&served).await;
    let planner = served.signed_in(Role::Planner).await;
    let mut tried = 0;
    for proposal in proposals {
        let kind = proposal.kind();
        let proposed = send(&heath, &Fact::Proposed(proposal)).await;
        assert_eq!(proposed.status(), 201, "{kind}: {}", proposed.body());
        let proposal = Seq(proposed.json()["number"].as_i64().unwrap());
        let approval = Fact::Approved { proposal };
        for own in [
            send(&heath, &approval).await,
            send_by_program(&served, &token, &approval).await,
        ] {
            let told = own.json();
            assert_eq!(
                (own.status(), &told["entry"]),
                (409, &json!(proposal.0)),
                "{kind}"
            );
            let why = told["detail"].as_str().unwrap();
            assert!(why.contains("another person must"), "{kind}: {why}");
        }
        let forged = forge(&heath, proposal).await;
        assert_eq!(forged.status(), 422, "{kind}");
        let why = forged.text(".refusal");
        assert!(why.contains("another person must"), "{kind}: {why}");
        assert_eq!(send(&planner, &approval).await.status(), 403, "{kind}");
        let mut view = served.store.view().await.unwrap();
        assert_eq!(view.last_entry, proposal.0, "{kind}: nothing was recorded");
        assert_eq!(view.outcome_of(proposal).await.unwrap(), None, "{kind}");
        drop(view);

        let approved = send(&other, &approval).await;
        assert_eq!(approved.status(), 201, "{kind}: {}", approved.body());
        let mut view = served.store.view().await.unwrap();
        let outcome = view.outcome_of(proposal).await.unwrap();
        assert_eq!(outcome, Some(Outcome::Approved), "{kind}");
        tried += 1;
    }
    for (person, refused) in [(HEATH, 3 * tried), ("planner", tried)] {
        let kept = format!(
            "select count(*) from refused_attempt where kind = 'record' and person = '{person}'"
        );
        assert_eq!(register.tables.number(&kept).await, refused, "{person}");
    }
    register.proves().await;
}

/// The same as often as it has texts, each time with another of them turned by U+202E.
fn turned(said: &Value) -> Vec<Value> {
    match said {
        Value::String(text) => vec![json!(format!("{text} \u{202e}x"))],
        Value::Array(all) => {
            let places = all.iter().enumerate();
            let one = |(place, value): (usize, &Value)| {
                let with = |other: Value| {
                    let mut all = all.clone();
                    all[place] = other;
                    json!(all)
                };
                turned(value).into_iter().map(with).collect::<Vec<_>>()
            };
            places.flat_map(one).collect()
        }
        Value::Object(fields) => {
            let one = |(name, value): (&String, &Value)| {
                let with = |other: Value| {
                    let mut fields = fields.clone();
                    fields.insert(name.clone(), other);
                    json!(fields)
                };
                turned(value).into_iter().map(with).collect::<Vec<_>>()
            };
            fields.iter().flat_map(one).collect()
        }
        Value::Null | Value::Bool(_) | Value::Number(_) => Vec::new(),
    }
}

async fn no_text_of_a_proposal_of_any_kind_takes_what_cannot_be_seen(url: &str) {
    let mut register = Register::open(url).await;
    let proposals = proposals::found(&mut register).await;
    let served = Served::empty(url).await;
    let heath = heath(&served).await;
    let last = served.store.view().await.unwrap().last_entry;
    for proposal in &proposals {
        let kind = proposal.kind();
        let said = serde_json::to_value(Fact::Proposed(proposal.clone())).unwrap();
        let all = turned(&said);
        assert!(!all.is_empty(), "{kind}");
        for one in all {
            let refused = send_json(&heath, &one).await;
            assert!(
                matches!(refused.status(), 400 | 422),
                "{kind}: {one}: {}",
                refused.body()
            );
        }
    }
    let after = served.store.view().await.unwrap().last_entry;
    assert_eq!(after, last, "nothing was recorded");
}

each_database!(nobody_approves_their_own_proposal_of_any_kind_by_any_way);
each_database!(no_text_of_a_proposal_of_any_kind_takes_what_cannot_be_seen);
