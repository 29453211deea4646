//! Pages and JSON over HTTP. It decides nothing and knows no SQL: it reads what was asked,
//! hands it to the core or the store, and shows the answer.

mod as_at;
mod asset;
mod drawing;
mod entry_form;
mod failure;
mod figures;
mod form;
mod frame;
mod guard;
mod limits;
mod link;
mod page;
mod respond;
mod routes;
mod session;
mod state;

pub use routes::router;
pub use session::password_hash;
pub use state::{Clock, Mode, WebState};
