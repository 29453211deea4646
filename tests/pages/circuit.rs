//! The circuit in a real browser: cocks are closed by mouse and by keyboard, nothing covers
//! anything else, and it fits its box and its sheet.

use serde_json::json;
use tests::browser::in_browser;
use tests::sqlite::SqliteFile;

use crate::http::sample::Served;

/// The parts that are drawn as lost, by code.
const LOST: &str = "return [...document.querySelectorAll('svg.sheet-wide .part.lost')]
    .map(part => part.dataset.code).sort()";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_cock_is_closed_by_a_click_and_opened_again_from_the_keyboard() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        let address = format!("{}/trains/T1/circuit?car=4103", served.server.base());
        browser.open(&address).await;
        assert_eq!(browser.evaluate(LOST).await, json!([]));
        browser.click("a.part[data-code='=BS2-QM1']").await;
        browser.text(".what-if-banner").await;
        let lost = browser.evaluate(LOST).await;
        assert!(
            lost.as_array().unwrap().contains(&json!("=BS2-MB4")),
            "{lost}"
        );
        assert!(
            !lost.as_array().unwrap().contains(&json!("=BS1-MB4")),
            "{lost}"
        );
        // Every cock can be reached by the keyboard, is seen when it is, and says what it does.
        let focused = browser
            .evaluate(
                "const cock = document.querySelector(\"a.part[data-code='=BS2-QM1']\");
                 cock.focus();
                 return [document.activeElement === cock,
                         cock.getAttribute('aria-label').includes('take the supposition back'),
                         document.querySelectorAll('a.is-cock').length]",
            )
            .await;
        assert_eq!(focused, json!([true, true, 10]));
        // The key of the standard named Enter.
        browser
            .type_into("a.part[data-code='=BS2-QM1']", "\u{E007}")
            .await;
        browser.text(".stands").await;
        assert_eq!(browser.evaluate(LOST).await, json!([]));
    })
    .await;
}

/// The boxes of symbols and of codes, and which of them share a spot; and whether a code is
/// smaller than can be read.
const SEEN: &str = r"
    const parts = [...document.querySelectorAll('svg.sheet-wide .part')];
    const boxes = parts.flatMap(part => [part.querySelector('.target'),
        ...part.querySelectorAll('text.code, text.name')]
        .filter(shape => shape.tagName === 'rect' || shape.textContent !== '')
        .map(shape => [part.dataset.code, shape.getBoundingClientRect()]));
    const apart = (a, b) => a.right <= b.left + 1.5 || b.right <= a.left + 1.5
        || a.bottom <= b.top + 4 || b.bottom <= a.top + 4;
    const overlaps = [];
    boxes.forEach(([one, a], i) => boxes.slice(0, i).forEach(([other, b]) => {
        if (one !== other && !apart(a, b)) overlaps.push([one, other]);
    }));
    const drawing = document.querySelector('svg.sheet-wide');
    const scale = drawing.getBoundingClientRect().width / drawing.viewBox.baseVal.width;
    return { parts: parts.length, overlaps, readable: 12 * scale >= 10.9 };
";

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_car_is_readable_with_nothing_covered_and_scrolls_in_its_own_box() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    in_browser(async |browser| {
        for (train, car, parts) in [
            ("T1", "4101", 81),
            ("T1", "4102", 77),
            ("T1", "4103", 81),
            ("T2", "5101", 100),
            ("T2", "5102", 75),
            ("T2", "5103", 62),
            ("T2", "5106", 77),
        ] {
            let path = format!("/trains/{train}/circuit?car={car}");
            browser
                .open(&format!("{}{path}", served.server.base()))
                .await;
            let seen = browser.evaluate(SEEN).await;
            let expected = json!({"parts": parts, "overlaps": [], "readable": true});
            assert_eq!(seen, expected, "{car}");
        }
        let hint = "return getComputedStyle(document.querySelector('.goes-on')).display";
        browser.resize(820, 1000).await;
        assert_eq!(browser.evaluate(hint).await, json!("block"));
        let widths = "const box = document.querySelector('.drawn');
            return [document.documentElement.scrollWidth <= window.innerWidth,
                    box.clientWidth < box.scrollWidth]";
        assert_eq!(browser.evaluate(widths).await, json!([true, true]));
        assert_eq!(browser.evaluate(SEEN).await["readable"], json!(true));
    })
    .await;
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_circuit_with_a_loss_is_printed_on_two_landscape_sheets() {
    let database = SqliteFile::fresh();
    let served = Served::with_trains(database.url()).await;
    let folder = tempfile::tempdir().unwrap();
    in_browser(async |browser| {
        for (train, car, cock) in [
            ("T1", "4101", "4101%3A%3DBS1-QM1%3Aclosed_vented"),
            ("T2", "5101", "5101%3A%3DBS2-QM1%3Aclosed_vented"),
        ] {
            let path = format!("/trains/{train}/circuit?car={car}&close={cock}");
            browser
                .open(&format!("{}{path}", served.server.base()))
                .await;
            let file = folder.path().join("circuit.pdf");
            browser.print(&file).await;
            let pdf = std::fs::read(&file).unwrap();
            let text = String::from_utf8_lossy(&pdf);
            let pages = text.matches("/Type /Page\n").count();
            assert!((1..=2).contains(&pages), "{pages} pages");
            let wide = text.matches("/MediaBox [0 0 84").count();
            assert_eq!(wide, pages, "landscape");
        }
    })
    .await;
}
