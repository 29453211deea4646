//! A form of a page, as a browser without scripts would send it.

use reqwest::{Method, Url};
use scraper::ElementRef;

use crate::page::{css, text_of};

/// The fields of a form with the values that the page put there. A test can fill in only what
/// the page offers.
#[derive(Debug, Clone)]
pub struct Form {
    method: Method,
    action: Url,
    controls: Vec<Control>,
    fields: Vec<(String, String)>,
}

/// One control of the form; radio buttons and check boxes are one control each.
#[derive(Debug, Clone)]
struct Control {
    name: String,
    kind: Kind,
}

#[derive(Debug, Clone)]
enum Kind {
    /// Any text.
    Free,
    /// One of these values.
    OneOf(Vec<String>),
    /// One value of several boxes with the same name, each ticked or not.
    Box(String),
}

impl Form {
    pub(crate) fn read(form: ElementRef<'_>, page: &Url) -> Self {
        let element = form.value();
        let method = match element.attr("method") {
            Some(method) if method.eq_ignore_ascii_case("post") => Method::POST,
            _ => Method::GET,
        };
        let action = page
            .join(element.attr("action").unwrap_or_default())
            .expect("a form's action is an address");
        let mut read = Self {
            method,
            action,
            controls: Vec::new(),
            fields: Vec::new(),
        };
        for control in form.select(&css("input, select, textarea")) {
            if let (Some(name), None) = (control.attr("name"), control.attr("disabled")) {
                read.take(name, control);
            }
        }
        read
    }

    /// Fills in a field or chooses one of its values; of boxes with the same name, ticks the one
    /// with this value.
    #[must_use]
    pub fn fill(mut self, name: &str, value: &str) -> Self {
        let kind = self.kind_that_takes(name, value);
        if !matches!(kind, Kind::Box(_)) {
            self.fields.retain(|(field, _)| field != name);
        }
        self.fields.push((name.to_owned(), value.to_owned()));
        self
    }

    /// Puts a value in a field that the form does not offer, as a program may.
    #[must_use]
    pub fn forge(mut self, name: &str, value: &str) -> Self {
        self.fields.retain(|(field, _)| field != name);
        self.fields.push((name.to_owned(), value.to_owned()));
        self
    }

    /// The values that the page put there, or that the test filled in, for one name.
    pub fn values(&self, name: &str) -> Vec<&str> {
        let of_name = self.fields.iter().filter(|(field, _)| field == name);
        of_name.map(|(_, value)| value.as_str()).collect()
    }

    /// How the form is sent.
    pub fn method(&self) -> &Method {
        &self.method
    }

    /// Where the form is sent to.
    pub fn action(&self) -> &Url {
        &self.action
    }

    /// Names and values as they are sent.
    pub fn fields(&self) -> &[(String, String)] {
        &self.fields
    }

    fn kind_that_takes(&self, name: &str, value: &str) -> &Kind {
        let of_name = |control: &&Control| control.name == name;
        self.controls
            .iter()
            .filter(of_name)
            .map(|control| &control.kind)
            .find(|kind| match kind {
                Kind::Free => true,
                Kind::OneOf(offered) => offered.iter().any(|offer| offer == value),
                Kind::Box(offer) => offer == value,
            })
            .unwrap_or_else(|| {
                let offered: Vec<_> = self.controls.iter().filter(of_name).collect();
                panic!("the form does not take “{value}” as {name}; it offers {offered:?}")
            })
    }

    fn take(&mut self, name: &str, control: ElementRef<'_>) {
        match control.value().name() {
            "select" => self.take_select(name, control),
            "textarea" => self.put(name, Kind::Free, Some(control.text().collect())),
            _ => self.take_input(name, control),
        }
    }

    fn take_select(&mut self, name: &str, select: ElementRef<'_>) {
        let value = |option: ElementRef<'_>| {
            option
                .attr("value")
                .map_or_else(|| text_of(option), str::to_owned)
        };
        let offered: Vec<String> = select.select(&css("option")).map(value).collect();
        let chosen = select.select(&css("option[selected]")).map(value).next();
        let chosen = chosen.or_else(|| offered.first().cloned());
        self.put(name, Kind::OneOf(offered), chosen);
    }

    fn take_input(&mut self, name: &str, input: ElementRef<'_>) {
        let value = input.attr("value");
        match input.attr("type").unwrap_or("text") {
            "submit" | "button" | "image" | "reset" | "file" => {}
            kind @ ("checkbox" | "radio") => {
                let value = value.unwrap_or("on").to_owned();
                let ticked = input.attr("checked").map(|_| value.clone());
                let kind = match kind {
                    "radio" => Kind::OneOf(vec![value]),
                    _ => Kind::Box(value),
                };
                self.put(name, kind, ticked);
            }
            _ => self.put(name, Kind::Free, Some(value.unwrap_or_default().to_owned())),
        }
    }

    fn put(&mut self, name: &str, kind: Kind, value: Option<String>) {
        self.controls.push(Control {
            name: name.to_owned(),
            kind,
        });
        self.fields
            .extend(value.map(|value| (name.to_owned(), value)));
    }
}
