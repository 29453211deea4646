//! Single sign-on in a browser: from the page of signing in to the provider and back.

use domain::people::Role;
use tests::browser::in_browser;
use tests::provider::{Meets, Provider};
use tests::sqlite::SqliteFile;
use web::Mode;

use crate::http::people::make_accounts;
use crate::http::sample::{Served, now};
use crate::http::sign_on::{bind, trusting};

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn one_signs_on_at_the_provider_and_comes_back_signed_in() {
    let database = SqliteFile::fresh();
    let provider = Provider::start(now()).await;
    provider.say(|says| says.meets = Meets::Page);
    let served = Served::with(database.url(), Mode::Register, trusting(&provider)).await;
    make_accounts(&served, &[Role::Planner]).await;
    in_browser(async |browser| {
        let sign_in = format!("{}/sign-in", served.server.base());
        for bound in [false, true] {
            if bound {
                bind(&served, &provider, "planner").await;
            }
            browser.open(&sign_in).await;
            browser.follow("#sign-on").await;
            assert!(browser.address().await.starts_with(provider.issuer()));
            browser.follow("#yes").await;
            let address = browser.address().await;
            if bound {
                assert_eq!(address, format!("{}/", served.server.base()));
                assert!(browser.text(".person").await.contains("planner"));
            } else {
                assert_eq!(browser.text("#subject").await, "248289761001");
            }
        }
    })
    .await;
}
