//! Pages and JSON over HTTP. It decides nothing and knows no SQL: it reads what was asked,
//! hands it to the core or the store, and shows the answer.

mod address;
mod after;
mod api;
mod as_at;
mod asset;
mod authenticate;
mod campaigns;
mod carrying;
mod cars_then;
mod client;
mod consequences;
mod denied;
mod departure;
mod drawing;
mod due;
mod entry_form;
mod fact;
mod failure;
mod form;
mod found_again;
mod frame;
mod guard;
mod holds;
mod limits;
mod misread;
mod not_there;
mod of_now;
mod page;
pub mod password;
mod recorded;
mod respond;
mod routes;
mod said;
mod session;
mod show;
mod sides;
mod sign_on;
mod state;

pub use due::ends as due_ends;
pub use due::lines as due_lines;
pub use routes::router;
pub use sign_on::{SettingsFault, SignOn, SignOnFault, SignOnSettings};
pub use state::{Clock, Mode, WebState};
