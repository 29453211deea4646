//! Somebody who is signed in to the built program and records as a program does.

use super::program::Place;
use reqwest::Client;
use serde_json::Value;

const PASSWORD: &str = "quail lantern over seven mud";

/// Somebody signed in. The session is kept in the register: it outlives the server and is good at
/// every server of it.
pub(super) struct Clerk {
    client: Client,
    form_token: String,
}

/// Makes an account with these roles.
pub(super) fn make_account(place: &Place, name: &str, roles: &[&str]) {
    let roles = roles.iter().flat_map(|role| ["--role", *role]);
    let arguments: Vec<&str> = ["account", name].into_iter().chain(roles).collect();
    let done = place.run_typing(&arguments, PASSWORD);
    assert_eq!(done.code, Some(0), "{done:?}");
}

impl Clerk {
    /// Signs in with an account at the server that has an address.
    pub(super) async fn signed_in(address: &str, name: &str) -> Self {
        let client = tests::visitor::http().cookie_store(true).build().unwrap();
        let fields = [("name", name), ("password", PASSWORD)];
        let sign_in = client.post(format!("{address}/sign-in")).form(&fields);
        assert!(sign_in.send().await.unwrap().status().is_success());
        let session = client.get(format!("{address}/api/v1/session")).send().await;
        let session: Value = serde_json::from_str(&session.unwrap().text().await.unwrap()).unwrap();
        let form_token = session["form_token"].as_str().unwrap().to_owned();
        Self { client, form_token }
    }

    /// Sends an entry to the server that has an address, and gives the status and the body of the
    /// answer; nothing where the server was gone before it had answered.
    pub(super) async fn record(&self, address: &str, entry: &Value) -> Option<(u16, Value)> {
        let request = self
            .client
            .post(format!("{address}/api/v1/entries"))
            .header("x-form-token", &self.form_token)
            .header("content-type", "application/json")
            .body(entry.to_string());
        let answer = request.send().await.ok()?;
        let status = answer.status().as_u16();
        let text = answer.text().await.ok()?;
        Some((status, serde_json::from_str(&text).unwrap()))
    }
}
