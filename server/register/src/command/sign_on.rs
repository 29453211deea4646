//! What `register serve` was told of single sign-on.

use crate::options;
use anyhow::{Context, Result};
use web::{SignOn, SignOnSettings};

/// Where the secret is, unless it is in a file.
const SECRET: &str = "REGISTER_SIGN_ON_SECRET";

/// Single sign-on, where it is asked for. Tells at once if the provider cannot be reached, which
/// is no reason not to serve: it is asked again whenever somebody signs on.
pub(crate) async fn prepare(options: options::SignOn) -> Result<Option<SignOn>> {
    let (Some(issuer), Some(client), Some(address)) =
        (options.issuer, options.client, options.address)
    else {
        return Ok(None);
    };
    let secret = match &options.secret_file {
        Some(file) => std::fs::read_to_string(file)
            .with_context(|| format!("cannot read {}", file.display()))?,
        None => std::env::var(SECRET).with_context(|| {
            format!("single sign-on needs a secret: --sign-on-secret-file, or {SECRET}")
        })?,
    };
    let settings = SignOnSettings {
        issuer,
        client,
        secret: secret.trim().to_owned(),
        address,
    };
    let sign_on = SignOn::new(settings).context("single sign-on")?;
    if let Err(why) = sign_on.reached().await {
        println!("Single sign-on does not work yet, and is tried again at each sign-on: {why}.");
    }
    Ok(Some(sign_on))
}
