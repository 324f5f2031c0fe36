//! What waited in a browser while its rebuild was finished and the next one opened: evidence goes into the
//! record it was entered for, or into none.

use axum::http::StatusCode;

use super::world::{Bench, RETURNED, SHEET};
use crate::gauges::photo::small_file;
use crate::plant::Answer;

const RETURNED_MEANWHILE: &str = "This was entered for rebuild 1 of LG-1107A, which was returned on 2 Mar 2026, and nothing is added to a finished one";

/// A form as a browser keeps it: key and rebuild of the page it was opened on.
struct Waiting {
    address: String,
    key: String,
    rebuild: String,
}

impl Waiting {
    async fn of(bench: &mut Bench, step: &str) -> Self {
        let address = format!("{SHEET}/{step}");
        let page = bench.technician.get(&address).await;
        Self {
            key: page.field("key"),
            rebuild: page.field("rebuild"),
            address,
        }
    }

    async fn photograph(&self, bench: &mut Bench) -> Answer {
        let fields = [
            ("key", self.key.as_str()),
            ("rebuild", &self.rebuild),
            ("caption", "leak path, lower end"),
        ];
        let picture = small_file();
        let file = ("photo", "IMG_0001.JPG", picture.as_slice());
        bench.technician.upload(&self.address, &fields, file).await
    }

    async fn remark(&self, bench: &mut Bench) -> Answer {
        let fields = [
            ("key", self.key.as_str()),
            ("rebuild", &self.rebuild),
            ("seen", "0"),
            ("text", "The drain valve is stiff."),
        ];
        bench.technician.post(&self.address, &fields).await
    }
}

/// Returns the rebuild that is on test.
async fn returned(bench: &mut Bench) {
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_photograph_or_remark_of_a_returned_rebuild_is_not_put_into_the_next_one() {
    let mut bench = Bench::new().await.on_test().await;
    let photograph = Waiting::of(&mut bench, "photo").await;
    let remark = Waiting::of(&mut bench, "remark").await;
    returned(&mut bench).await;
    // Nothing is open: it is said which rebuild it was and where that stands.
    for answer in [
        photograph.photograph(&mut bench).await,
        remark.remark(&mut bench).await,
    ] {
        answer.is(StatusCode::CONFLICT).says(RETURNED_MEANWHILE);
    }
    let mut bench = bench.planned().await;
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    for answer in [
        photograph.photograph(&mut bench).await,
        remark.remark(&mut bench).await,
    ] {
        answer
            .is(StatusCode::CONFLICT)
            .says(RETURNED_MEANWHILE)
            .says("rebuild 2 is at the bench and was left as it is");
    }
    for page in [SHEET, "/gauges/LG-1107A/rebuilds/1"] {
        let page = bench.technician.get(page).await;
        page.is(StatusCode::OK)
            .does_not_say("leak path, lower end")
            .does_not_say("The drain valve is stiff.");
    }
    bench.sheet().await.says("Recorded so far To the bench");
    // What is entered for the open one is taken.
    for step in ["photo", "remark"] {
        let form = Waiting::of(&mut bench, step).await;
        assert_eq!(form.rebuild, "2");
        let answer = if step == "photo" {
            form.photograph(&mut bench).await
        } else {
            form.remark(&mut bench).await
        };
        answer.is(StatusCode::SEE_OTHER);
    }
    bench.sheet().await.says("leak path, lower end");
    bench.is_sound().await;
}

#[tokio::test]
async fn every_button_of_a_returned_rebuild_leaves_the_next_one_alone() {
    let mut bench = Bench::new().await.on_test().await;
    returned(&mut bench).await;
    let mut bench = bench.planned().await;
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    let buttons = [
        "ready",
        "not-ready",
        "start",
        "made-safe",
        "stripped",
        "bolting",
        "face",
        "kits",
        "kits-back",
        "assembled",
        "tightened",
        "remark",
        "enter",
        "hand-over",
        "take-over",
        "test",
        "hold",
        "hold-reading",
        "prove",
        "back",
        "return",
        "abandon",
    ];
    for button in buttons {
        let key = bench
            .technician
            .get(&format!("{SHEET}/remark"))
            .await
            .field("key");
        let fields = [("key", key.as_str()), ("rebuild", "1"), ("version", "1")];
        let address = format!("{SHEET}/{button}");
        bench
            .technician
            .post(&address, &fields)
            .await
            .is(StatusCode::CONFLICT)
            .says(RETURNED_MEANWHILE);
    }
    bench.sheet().await.says("Recorded so far To the bench");
    bench.is_sound().await;
}

#[tokio::test]
async fn what_the_register_has_already_is_said_to_be_there_also_after_the_return() {
    let mut bench = Bench::new().await.on_test().await;
    let remark = Waiting::of(&mut bench, "remark").await;
    remark.remark(&mut bench).await.is(StatusCode::SEE_OTHER);
    returned(&mut bench).await;
    let mut bench = bench.planned().await;
    // Its answer was lost on the way: the browser asks once more, when rebuild 2 is open.
    let again = remark.remark(&mut bench).await;
    again.is(StatusCode::SEE_OTHER);
    assert_eq!(again.goes_to(), SHEET);
    bench
        .sheet()
        .await
        .does_not_say("The drain valve is stiff.");
    bench.its_record().await.says("The drain valve is stiff.");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_form_of_an_older_page_goes_to_the_open_rebuild_and_one_of_no_rebuild_nowhere() {
    let mut bench = Bench::new().await.started().await;
    let mut form = Waiting::of(&mut bench, "remark").await;
    for (rebuild, status) in [
        ("7", StatusCode::NOT_FOUND),
        ("the first", StatusCode::BAD_REQUEST),
    ] {
        form.rebuild = rebuild.to_owned();
        form.remark(&mut bench).await.is(status);
    }
    bench.sheet().await.says("Recorded so far To the bench");
    form.rebuild = String::new();
    form.remark(&mut bench).await.is(StatusCode::SEE_OTHER);
    bench.sheet().await.says("The drain valve is stiff.");
}
