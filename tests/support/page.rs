//! What a visitor got: a page of HTML, read by CSS selectors, or another body.

use reqwest::header::{CONTENT_TYPE, HeaderMap};
use reqwest::{Response, StatusCode, Url};
use scraper::{ElementRef, Html, Selector};

use crate::form::Form;

/// An answer that arrived whole. HTML must be without faults, or reading it ends the test.
#[derive(Debug)]
pub struct Page {
    address: Url,
    status: StatusCode,
    headers: HeaderMap,
    body: String,
    html: Html,
}

impl Page {
    pub(crate) async fn read(answer: Response) -> Self {
        let address = answer.url().clone();
        let status = answer.status();
        let headers = answer.headers().clone();
        let body = answer.text().await.expect("the answer arrives whole");
        let html = if is_html(&headers) {
            faultless(&address, &body)
        } else {
            Html::new_document()
        };
        Self {
            address,
            status,
            headers,
            body,
            html,
        }
    }

    /// Where the page was found, after redirects: path and query.
    pub fn path(&self) -> &str {
        let server = self.address.origin().ascii_serialization();
        &self.address.as_str()[server.len()..]
    }

    /// The status of HTTP, such as 200.
    pub fn status(&self) -> u16 {
        self.status.as_u16()
    }

    /// A header's value, if it was sent and is plain text.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers.get(name)?.to_str().ok()
    }

    /// The body as it came.
    pub fn body(&self) -> &str {
        &self.body
    }

    /// The body read as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body)
            .unwrap_or_else(|error| panic!("{}: {error}:\n{}", self.address, self.body))
    }

    /// The text of the only element that the selector finds, with single blanks.
    pub fn text(&self, selector: &str) -> String {
        text_of(self.only(selector))
    }

    /// The texts of all elements that the selector finds, in the order of the page.
    pub fn texts(&self, selector: &str) -> Vec<String> {
        self.all(selector).into_iter().map(text_of).collect()
    }

    /// What the page's lists of facts say under a name.
    pub fn fact(&self, name: &str) -> String {
        let names = self.texts("dl.facts dt");
        let place = names.iter().position(|found| found == name);
        let place = place.unwrap_or_else(|| panic!("“{name}” is not among {names:?}"));
        self.texts("dl.facts dd").swap_remove(place)
    }

    /// An attribute of the only element that the selector finds.
    pub fn attribute(&self, selector: &str, name: &str) -> Option<&str> {
        self.only(selector).value().attr(name)
    }

    /// An attribute of each element that the selector finds and that has it.
    pub fn attributes(&self, selector: &str, name: &str) -> Vec<&str> {
        let found = self.all(selector).into_iter();
        found.filter_map(|one| one.value().attr(name)).collect()
    }

    /// How many elements the selector finds.
    pub fn count(&self, selector: &str) -> usize {
        self.all(selector).len()
    }

    /// The form that the selector finds, filled in as the page offers it.
    pub fn form(&self, selector: &str) -> Form {
        Form::read(self.only(selector), &self.address)
    }

    fn only(&self, selector: &str) -> ElementRef<'_> {
        match self.all(selector)[..] {
            [element] => element,
            ref found => panic!(
                "{}: “{selector}” finds {} elements instead of one:\n{}",
                self.address,
                found.len(),
                self.body
            ),
        }
    }

    fn all(&self, selector: &str) -> Vec<ElementRef<'_>> {
        self.html.select(&css(selector)).collect()
    }
}

pub(crate) fn css(selector: &str) -> Selector {
    Selector::parse(selector).unwrap_or_else(|error| panic!("“{selector}”: {error}"))
}

pub(crate) fn text_of(element: ElementRef<'_>) -> String {
    let text: String = element.text().collect();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn is_html(headers: &HeaderMap) -> bool {
    headers
        .get(CONTENT_TYPE)
        .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"))
}

fn faultless(address: &Url, body: &str) -> Html {
    let html = Html::parse_document(body);
    assert!(
        html.errors.is_empty(),
        "{address}: faults of the HTML: {:?}\n{body}",
        html.errors
    );
    html
}
