//! Tokens by which programs act for one.

use super::{Told, may_record, my_page, wrong};
use crate::authenticate::is_really;
use crate::client::Client;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::respond::PageResult;
use crate::session::{hash, random_token};
use crate::state::WebState;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect};
use domain::people::tries::seconds_after;
use domain::people::{Actor, Role};
use domain::time::Instant;
use store::account::{ApiToken, Made, NewToken};

/// The longest that a token is good, in days.
pub(super) const DAYS_MAX: i64 = 366;

/// The longest name of a token.
const NAME_CHARS_MAX: usize = 60;

/// The name of a role's box in the form.
pub(super) fn field_of(role: Role) -> String {
    format!("record_{}", role.name())
}

/// `POST /my-account/tokens`
pub(crate) async fn make(
    State(state): State<WebState>,
    client: Client,
    submitted: Submitted,
) -> PageResult {
    let Submitted {
        actor,
        signed_in,
        fields,
        ..
    } = submitted;
    let mut errors = FieldErrors::default();
    let listed = asked(&fields, &actor, state.now(), &mut errors);
    let current = (&actor.name, fields.exact("token_password"));
    if errors.is_empty() && !is_really(&state, current, &client).await? {
        errors.add("token_password", "expected the password you have");
    }
    if errors.is_empty() {
        let token = random_token();
        let made = NewToken {
            hash: hash(&token),
            listed,
        };
        match state.store.make_token(&actor.name, &made).await? {
            Made::Now => {
                let told = Told {
                    token: Some(token),
                    ..Told::default()
                };
                return my_page(&state, &signed_in, told).await;
            }
            Made::Before => errors.add("token_name", "expected a name that none of yours has"),
        }
    }
    wrong(&state, &signed_in, (fields, errors)).await
}

fn asked(fields: &Fields, actor: &Actor, now: Instant, errors: &mut FieldErrors) -> ApiToken {
    let name = fields.text("token_name");
    let length = name.chars().count();
    if !(1..=NAME_CHARS_MAX).contains(&length) || name.chars().any(char::is_control) {
        errors.add(
            "token_name",
            format!("expected 1 to {NAME_CHARS_MAX} characters"),
        );
    }
    let days = fields.text("days").parse().ok();
    let days = days.filter(|days| (1..=DAYS_MAX).contains(days));
    if days.is_none() {
        errors.add(
            "days",
            format!("expected a whole number from 1 to {DAYS_MAX}"),
        );
    }
    let granted = |role: &&Role| may_record(**role) && !fields.text(&field_of(**role)).is_empty();
    ApiToken {
        name: name.to_owned(),
        roles: actor.roles.iter().filter(granted).copied().collect(),
        created_at: now,
        expires_at: seconds_after(now, days.unwrap_or(0) * 86_400),
    }
}

/// `POST /my-account/tokens/revoke`
pub(crate) async fn revoke(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let name = &submitted.actor.name;
    let token = submitted.fields.text("token_name");
    let by = (name, state.now());
    state.store.revoke_token(name, token, by).await?;
    Ok(Redirect::to("/my-account").into_response())
}
