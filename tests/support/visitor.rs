//! Someone who asks for pages over real HTTP and sends forms: one person at one machine, with
//! cookies and without scripts.

use reqwest::header::ORIGIN;
use reqwest::{Client, Method, RequestBuilder};

use crate::form::Form;
use crate::page::Page;
use crate::server::RunningServer;

/// Keeps cookies and follows redirects, as a browser does.
#[derive(Debug, Clone)]
pub struct Visitor {
    client: Client,
    base: String,
}

impl Visitor {
    /// A visitor without cookies.
    pub fn new(server: &RunningServer) -> Self {
        let client = Client::builder()
            .cookie_store(true)
            .no_proxy()
            .build()
            .expect("a client without encryption needs nothing that can be missing");
        Self {
            client,
            base: server.base().to_owned(),
        }
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

    /// A request to be completed by the test, for what a form does not send.
    pub fn request(&self, method: Method, path: &str) -> RequestBuilder {
        self.client.request(method, format!("{}{path}", self.base))
    }

    /// Sends a request and reads the answer.
    pub async fn send(&self, request: RequestBuilder) -> Page {
        Page::read(request.send().await.expect("the server answers")).await
    }
}
