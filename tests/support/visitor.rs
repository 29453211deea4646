//! Someone who asks for pages over real HTTP and sends forms: one person at one machine, with
//! cookies and without scripts.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use reqwest::cookie::CookieStore;
use reqwest::header::{HeaderValue, ORIGIN};
use reqwest::{Client, ClientBuilder, Method, RequestBuilder, Url};

use crate::form::Form;
use crate::page::Page;
use crate::server::RunningServer;

/// A client for HTTP to the loopback. The register brings encryption into the crate, which then
/// wants to know by which library, though nothing here is encrypted; so no certificate of the
/// system is read, which would take longer than most tests.
pub fn http() -> ClientBuilder {
    // Another test may have said so before.
    let _ = rustls::crypto::ring::default_provider().install_default();
    Client::builder().no_proxy().tls_certs_only([])
}

/// Keeps cookies and follows redirects, as a browser does.
#[derive(Debug, Clone)]
pub struct Visitor {
    client: Client,
    base: String,
}

impl Visitor {
    /// A visitor without cookies.
    pub fn new(server: &RunningServer) -> Self {
        let client = http()
            .cookie_store(true)
            .build()
            .expect("a client without encryption needs nothing that can be missing");
        Self {
            client,
            base: server.base().to_owned(),
        }
    }

    /// A visitor whose browser speaks HTTPS to a proxy before the server: cookies that are sent
    /// over HTTPS only come back.
    pub fn over_https(server: &RunningServer) -> (Self, Cookies) {
        let cookies = Cookies::default();
        let client = http()
            .cookie_provider(Arc::new(cookies.clone()))
            .build()
            .expect("a client without encryption needs nothing that can be missing");
        let base = server.base().to_owned();
        (Self { client, base }, cookies)
    }

    /// Asks for a path such as `/trains?late=true`.
    pub async fn get(&self, path: &str) -> Page {
        self.send(self.request(Method::GET, path)).await
    }

    /// Sends a form as it was filled in.
    pub async fn submit(&self, form: &Form) -> Page {
        let request = self
            .client
            .request(form.method().clone(), form.action().clone());
        let request = if form.method() == Method::GET {
            request.query(form.fields())
        } else {
            request.header(ORIGIN, &self.base).form(form.fields())
        };
        self.send(request).await
    }

    /// Sends a form that tells of long ago, and agrees to what it changes where that is shown.
    pub async fn submit_and_agree(&self, form: &Form) -> Page {
        let page = self.submit(form).await;
        if page.count("form:has([name=foreseen])") == 0 {
            return page;
        }
        self.submit(&page.form("form:has([name=foreseen])")).await
    }

    /// A request to be completed by the test, for what a form does not send.
    pub fn request(&self, method: Method, path: &str) -> RequestBuilder {
        self.client.request(method, format!("{}{path}", self.base))
    }

    /// Sends a request and reads the answer.
    pub async fn send(&self, request: RequestBuilder) -> Page {
        Page::read(request.send().await.expect("the server answers")).await
    }
}

/// The cookies of one visitor, which a test may look at, take away and put back.
#[derive(Debug, Clone, Default)]
pub struct Cookies {
    /// Name and value of each.
    kept: Arc<Mutex<BTreeMap<String, String>>>,
    /// As the server sent them.
    sent: Arc<Mutex<Vec<String>>>,
}

impl Cookies {
    /// Names and values as the visitor has them.
    pub fn kept(&self) -> BTreeMap<String, String> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.clone()
    }

    /// Puts others in their place.
    pub fn put(&self, cookies: BTreeMap<String, String>) {
        *self.kept.lock().unwrap_or_else(PoisonError::into_inner) = cookies;
    }

    /// What the server sent, to the letter.
    pub fn sent(&self) -> Vec<String> {
        let sent = self.sent.lock().unwrap_or_else(PoisonError::into_inner);
        sent.clone()
    }
}

impl CookieStore for Cookies {
    fn set_cookies(&self, headers: &mut dyn Iterator<Item = &HeaderValue>, _: &Url) {
        let mut kept = self.kept();
        let mut sent = self.sent();
        for text in headers.filter_map(|header| header.to_str().ok()) {
            sent.push(text.to_owned());
            let (pair, rest) = text.split_once(';').unwrap_or((text, ""));
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            if rest.contains("Max-Age=0") {
                kept.remove(name);
            } else {
                kept.insert(name.to_owned(), value.to_owned());
            }
        }
        self.put(kept);
        *self.sent.lock().unwrap_or_else(PoisonError::into_inner) = sent;
    }

    fn cookies(&self, _: &Url) -> Option<HeaderValue> {
        let kept = self.kept();
        let pairs: Vec<String> = kept
            .iter()
            .map(|(name, value)| format!("{name}={value}"))
            .collect();
        (!pairs.is_empty()).then(|| pairs.join("; ").parse().expect("cookies are plain text"))
    }
}
