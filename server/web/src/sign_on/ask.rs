//! Asking the provider over HTTP: no redirects, no endless waiting, no endless answers.

use openidconnect::{AsyncHttpClient, HttpRequest, HttpResponse, http};
use std::error::Error;
use std::pin::Pin;

/// The longest answer of a provider, in bytes.
const ANSWER_BYTES_MAX: usize = 256 * 1024;

/// Why there is no answer.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotAsked {
    /// It was not sent or not answered.
    #[error("no answer: {}", with_causes(.0))]
    Http(#[from] reqwest::Error),
    /// The answer is too long.
    #[error("an answer of more than {ANSWER_BYTES_MAX} bytes")]
    TooLong,
    /// The answer is none.
    #[error("{0}")]
    Malformed(#[from] http::Error),
}

/// An error with what caused it.
pub(super) fn with_causes(error: &(dyn Error + 'static)) -> String {
    let mut text = error.to_string();
    let mut cause = error.source();
    while let Some(one) = cause {
        let said = one.to_string();
        if !text.contains(&said) {
            text = format!("{text}: {said}");
        }
        cause = one.source();
    }
    text
}

/// Whoever asks the provider.
pub(super) struct Asker(pub(super) reqwest::Client);

impl<'c> AsyncHttpClient<'c> for Asker {
    type Error = NotAsked;
    type Future = Pin<Box<dyn Future<Output = Result<HttpResponse, NotAsked>> + Send + 'c>>;

    fn call(&'c self, request: HttpRequest) -> Self::Future {
        Box::pin(ask(&self.0, request))
    }
}

async fn ask(http: &reqwest::Client, request: HttpRequest) -> Result<HttpResponse, NotAsked> {
    let mut answer = http.execute(request.try_into()?).await?;
    let mut kept = http::Response::builder().status(answer.status());
    if let Some(headers) = kept.headers_mut() {
        headers.clone_from(answer.headers());
    }
    let mut body = Vec::new();
    while let Some(chunk) = answer.chunk().await? {
        if ANSWER_BYTES_MAX < body.len() + chunk.len() {
            return Err(NotAsked::TooLong);
        }
        body.extend_from_slice(&chunk);
    }
    Ok(kept.body(body)?)
}
