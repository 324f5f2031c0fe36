//! Checking a certificate by whoever holds it: by code, by paper, by record; what was changed is
//! found, what was replaced or withdrawn says so, and programs that know nothing of us agree.

use axum::http::StatusCode;
use gaugewright::acts::{self, Deed, Who};
use gaugewright::papers::check::{Asked, Verdict, check};
use gaugewright::record::certificate_mark::MarkKind;
use gaugewright::record::person::Role;
use gaugewright::record::pressure_test::Certificate;
use gaugewright::record::seal::{code_of, hash_of_code};
use gaugewright::store;

use crate::papers::ask;
use crate::plant::{Answer, PASSWORD, Plant, Visitor};
use crate::pressure_tests::world::{self, certified, sound};

async fn kept(plant: &Plant, number: &str) -> Certificate {
    let mut db = plant.store.read().await.unwrap();
    store::issued::by_number(&mut db, number)
        .await
        .unwrap()
        .unwrap()
}

async fn paper(visitor: &mut Visitor, number: &str, size: &str) -> Vec<u8> {
    let path = format!("/pressure-tests/certificates/{number}.pdf?paper={size}");
    let answer = visitor.get(&path).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
    answer.bytes
}

async fn sent(plant: &Plant, name: &str, bytes: &[u8]) -> Answer {
    let mut anybody = plant.visitor();
    anybody.upload("/check", &[], ("file", name, bytes)).await
}

async fn verdict(plant: &Plant, bytes: &[u8]) -> Verdict {
    let mut db = plant.store.read().await.unwrap();
    check(&mut db, Asked::File(bytes.to_vec()))
        .await
        .unwrap()
        .verdict
}

/// Replaces a certificate by a corrected one and returns the number of the new one.
async fn corrected(plant: &Plant, number: &str) -> String {
    let page = format!("/pressure-tests/certificates/{number}/correct");
    let answer = plant
        .inspector()
        .await
        .fill(
            &page,
            &page,
            &[
                ("reason", "the place of the test was left out"),
                ("place", "Bench, instrument workshop"),
                ("password", PASSWORD),
            ],
        )
        .await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().rsplit('/').next().unwrap().to_owned()
}

mod code {
    use super::*;

    #[tokio::test]
    async fn a_code_tells_a_genuine_certificate_to_anybody() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let code = kept(&plant, &number).await.seal.unwrap().code;
        let page = plant.visitor().get(&format!("/check?code={code}")).await;
        page.is(StatusCode::OK)
            .says("Genuine: issued as it is, and it stands")
            .says("LG-1107A")
            .says("1505 psi at the lowest");
    }

    #[tokio::test]
    async fn a_code_may_be_typed_small_without_hyphens_and_as_it_was_scanned() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let code = kept(&plant, &number).await.seal.unwrap().code;
        for typed in [
            code.to_lowercase().replace('-', ""),
            format!("{number}%20{code}"),
            format!("https://gauges.example.org/check?code={code}").replace(['?', '='], "%3D"),
        ] {
            plant
                .visitor()
                .get(&format!("/check?code={typed}"))
                .await
                .is(StatusCode::OK);
        }
        let typed = code.to_lowercase().replace('-', "");
        let page = plant.visitor().get(&format!("/check?code={typed}")).await;
        page.says("Genuine");
        let page = plant
            .visitor()
            .get(&format!("/check?code={number}%20{code}"))
            .await;
        page.says("Genuine");
    }

    #[tokio::test]
    async fn a_number_alone_or_a_wrong_code_opens_nothing_and_whoever_mistyped_it_is_told_to_compare()
     {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        for typed in [number.as_str(), "7K3M-9QXT-2HVW", "nonsense", "0"] {
            let page = plant.visitor().get(&format!("/check?code={typed}")).await;
            page.is(StatusCode::OK)
                .says("No certificate here has this code")
                .says("letter by letter")
                .does_not_say("Unknown")
                .does_not_say("LG-1107A");
        }
    }

    /// The digits are those of Crockford's base 32 (<https://www.crockford.com/base32.html>): the
    /// values 0 to 31 are 0-9, A-H, J, K, M, N, P-T, V-Z; O reads as 0, I and L as 1.
    #[test]
    fn a_code_is_the_first_sixty_bits_of_the_hash_in_crockfords_digits() {
        let hash = "ffffffffffffffff";
        assert_eq!(code_of(hash), "ZZZZ-ZZZZ-ZZZZ");
        assert_eq!(code_of("000000000000001f"), "0000-0000-0001");
        assert_eq!(code_of("08421084210842108"), "1111-1111-1111");
        assert_eq!(hash_of_code("zzzz zzzz zzzz").unwrap(), &hash[..15]);
        assert_eq!(
            hash_of_code("OIL0-0000-0001").unwrap(),
            hash_of_code("0110-0000-0001").unwrap()
        );
        assert!(hash_of_code("UUUU-UUUU-UUUU").is_none());
        assert!(hash_of_code("ZZZZ-ZZZZ-ZZZ").is_none());
    }

    #[tokio::test]
    async fn whoever_asks_too_often_waits() {
        let plant = world::plant().await;
        let mut anybody = plant.visitor();
        for _ in 0..30 {
            anybody.get("/check?code=0").await.is(StatusCode::OK);
        }
        anybody
            .get("/check?code=0")
            .await
            .is(StatusCode::TOO_MANY_REQUESTS);
        anybody.get("/check").await.is(StatusCode::OK);
        plant.turn_to(time::macros::datetime!(2026-03-02 09:01:01 UTC));
        anybody.get("/check?code=0").await.is(StatusCode::OK);
    }
}

mod file {
    use super::*;

    #[tokio::test]
    async fn both_papers_and_the_record_are_genuine_and_the_same_each_time() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let mut reader = plant.storekeeper().await;
        for size in ["a4", "letter"] {
            let first = paper(&mut reader, &number, size).await;
            let again = paper(&mut reader, &number, size).await;
            assert_eq!(first, again, "{size}");
            let page = sent(&plant, "certificate.pdf", &first).await;
            page.is(StatusCode::OK)
                .says("Genuine")
                .says("byte for byte, a paper this register handed out");
        }
        let record = reader
            .get(&format!("/pressure-tests/certificates/{number}.json"))
            .await
            .bytes;
        sent(&plant, "certificate.json", &record)
            .await
            .says("Genuine");
        sound(&plant).await;
    }

    #[tokio::test]
    async fn two_hundred_changed_certificates_are_all_refused() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let pdf = paper(&mut plant.storekeeper().await, &number, "a4").await;
        let record = kept(&plant, &number).await.record.into_bytes();
        // A fixed walk over the files: each a byte changed, a bit turned, cut off, or added to.
        let mut place = 17_usize;
        for turn in 0..200_usize {
            let original = if turn % 2 == 0 { &pdf } else { &record };
            let mut changed = original.clone();
            place = place.wrapping_mul(1_103_515_245).wrapping_add(12_345) % (1 << 31);
            let at = place % changed.len();
            match turn % 5 {
                0 | 1 => changed[at] ^= 1 << (turn % 8),
                2 => changed[at] = changed[at].wrapping_add(1),
                3 => changed.truncate(at),
                _ => changed.insert(at, b' '),
            }
            assert_ne!(&changed, original, "turn {turn}");
            let found = verdict(&plant, &changed).await;
            assert!(
                matches!(found, Verdict::Altered | Verdict::Unknown),
                "turn {turn}: {found:?} at byte {at}"
            );
        }
        assert_eq!(verdict(&plant, &pdf).await, Verdict::Genuine);
        assert_eq!(verdict(&plant, &record).await, Verdict::Genuine);
    }

    #[tokio::test]
    async fn a_record_with_another_pressure_is_told_as_altered_without_giving_the_true_one() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let record = kept(&plant, &number).await.record;
        let changed = record.replace("\"1505\"", "\"1999\"");
        assert_ne!(changed, record);
        let page = sent(&plant, "certificate.json", changed.as_bytes()).await;
        page.says("Altered")
            .says("test, applied, value")
            .does_not_say("1505");
    }

    #[tokio::test]
    async fn a_made_up_record_under_a_true_number_does_not_learn_which_guesses_are_right() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let mut guess: serde_json::Value =
            serde_json::from_str(&kept(&plant, &number).await.record).unwrap();
        for (part, field) in [
            ("gauge", "tag"),
            ("gauge", "vessel"),
            ("gauge", "area"),
            ("test", "medium"),
            ("test", "method"),
            ("requirement", "code"),
        ] {
            guess[part][field] = "a guess".into();
        }
        let bytes = serde_json::to_vec(&guess).unwrap();
        sent(&plant, "certificate.json", &bytes)
            .await
            .says("Altered")
            .says("It differs in many places")
            .does_not_say("Different:")
            .does_not_say("LG-1107A");
    }

    #[tokio::test]
    async fn a_record_that_only_reads_the_same_is_not_the_one_that_was_signed() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let record = kept(&plant, &number).await.record;
        let named = format!("\"number\":\"{number}\"");
        assert!(record.contains(&named));
        for (what, changed) in [
            (
                "a second member of one name",
                record.replacen('{', &format!("{{{named},"), 1),
            ),
            (
                "another way to write a number",
                record.replace("\"revision\":0", "\"revision\":0.0"),
            ),
            (
                "a number with an exponent",
                record.replace("\"revision\":0", "\"revision\":0e0"),
            ),
            (
                "an escaped letter",
                record.replacen("\"number\"", "\"\\u006eumber\"", 1),
            ),
            ("a space", record.replacen(':', ": ", 1)),
            ("a line at the end", format!("{record}\n")),
            ("a byte order mark", format!("\u{feff}{record}")),
            ("another member", record.replacen('{', "{\"extra\":1,", 1)),
        ] {
            assert_ne!(changed, record, "{what}");
            let told = verdict(&plant, changed.as_bytes()).await;
            assert!(
                matches!(told, Verdict::Altered | Verdict::Unknown),
                "{what}: {told:?}"
            );
        }
    }

    #[tokio::test]
    async fn a_record_another_program_wrote_anew_is_not_the_one_that_was_issued() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let value: serde_json::Value =
            serde_json::from_str(&kept(&plant, &number).await.record).unwrap();
        let pretty = serde_json::to_string_pretty(&value).unwrap();
        sent(&plant, "certificate.json", pretty.as_bytes())
            .await
            .says("Altered")
            .says("some program wrote it anew");
    }

    #[tokio::test]
    async fn the_true_record_in_another_paper_is_told_as_altered() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let mut pdf = paper(&mut plant.storekeeper().await, &number, "a4").await;
        // A comment after the end: every reader shows the same page.
        pdf.extend_from_slice(b"\n% note\n");
        sent(&plant, "certificate.pdf", &pdf)
            .await
            .says("Altered")
            .says("the file is not the paper that was issued");
    }

    #[tokio::test]
    async fn a_paper_never_handed_out_before_is_still_known_by_setting_it_anew() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let kept = kept(&plant, &number).await;
        let record = serde_json::from_str(&kept.record).unwrap();
        let letter = gaugewright::record::plant::Paper::Letter;
        let pdf = gaugewright::papers::check::paper_of(&kept, &record, letter).unwrap();
        assert_eq!(verdict(&plant, &pdf).await, Verdict::Genuine);
    }

    #[tokio::test]
    async fn another_document_is_unknown_and_an_empty_form_asks_for_one() {
        let plant = world::plant().await;
        for bytes in [
            &b"%PDF-1.7\n%%EOF\n"[..],
            b"{}",
            b"{\"number\":\"TW-C-2026-0001\"}",
            b"x",
        ] {
            sent(&plant, "other", bytes).await.says("Unknown");
        }
        sent(&plant, "", b"")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose the PDF");
        let large = vec![b' '; 5 * 1024 * 1024 + 1];
        sent(&plant, "large.pdf", &large)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("larger than 1 MB");
    }
}

mod standing {
    use super::*;

    #[tokio::test]
    async fn a_corrected_certificate_is_superseded_and_both_stay_readable() {
        let plant = world::plant().await;
        let old = certified(&plant).await;
        let pdf = paper(&mut plant.storekeeper().await, &old, "a4").await;
        let new = corrected(&plant, &old).await;
        assert_eq!(new, "TW-C-2026-0002");
        let mut reader = plant.storekeeper().await;
        reader
            .get(&format!("/pressure-tests/certificates/{old}"))
            .await
            .says("Superseded by TW-C-2026-0002")
            .says("the place of the test was left out");
        reader
            .get(&format!("/pressure-tests/certificates/{new}"))
            .await
            .says("Supersedes TW-C-2026-0001");
        sent(&plant, "old.pdf", &pdf)
            .await
            .says("Superseded")
            .says("replaced by TW-C-2026-0002: the place of the test was left out");
        let pdf = paper(&mut reader, &new, "a4").await;
        sent(&plant, "new.pdf", &pdf).await.says("Genuine");
        sound(&plant).await;
    }

    #[tokio::test]
    async fn what_was_replaced_is_not_corrected_again_and_a_correction_changes_something() {
        let plant = world::plant().await;
        let old = certified(&plant).await;
        let page = format!("/pressure-tests/certificates/{old}/correct");
        let mut inspector = plant.inspector().await;
        let nothing = [("reason", "second thoughts"), ("password", PASSWORD)];
        inspector
            .fill(&page, &page, &nothing)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This changes nothing the certificate states");
        inspector
            .fill(
                &page,
                &page,
                &[("remark", "the tag was misread"), ("password", PASSWORD)],
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say what was wrong");
        let look = [("remark", "the tag was misread"), ("look", "yes")];
        inspector
            .fill(&page, &page, &look)
            .await
            .is(StatusCode::OK)
            .says("Correction: the tag was misread");
        corrected(&plant, &old).await;
        inspector
            .get(&page)
            .await
            .says("This certificate was replaced by TW-C-2026-0002");
    }

    #[tokio::test]
    async fn a_questioned_and_a_withdrawn_certificate_say_so_to_anybody() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let pdf = paper(&mut plant.storekeeper().await, &number, "a4").await;
        mark(
            &plant,
            &number,
            MarkKind::Questioned,
            "pressure gauge found low",
        )
        .await;
        sent(&plant, "c.pdf", &pdf)
            .await
            .says("Questioned")
            .says("pressure gauge found low");
        mark(
            &plant,
            &number,
            MarkKind::Stands,
            "it read high, so the test holds",
        )
        .await;
        sent(&plant, "c.pdf", &pdf).await.says("Genuine");
        mark(
            &plant,
            &number,
            MarkKind::Withdrawn,
            "the wrong gauge was tested",
        )
        .await;
        sent(&plant, "c.pdf", &pdf)
            .await
            .says("Withdrawn")
            .says("the wrong gauge was tested");
        sound(&plant).await;
    }

    /// The paper as it was issued, whatever was said of it since.
    async fn as_issued(visitor: &mut Visitor, number: &str) -> Vec<u8> {
        let path = format!("/pressure-tests/certificates/{number}.pdf?paper=a4&as=issued");
        let answer = visitor.get(&path).await;
        answer.is(StatusCode::OK);
        answer.bytes
    }

    fn text(pdf: &[u8]) -> Option<String> {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("c.pdf");
        std::fs::write(&file, pdf).unwrap();
        let out = ask("pdftotext", &["-raw"], &file, &["-"])?;
        let words = String::from_utf8_lossy(&out).replace('\u{200b}', "");
        Some(words.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    #[tokio::test]
    async fn a_withdrawn_certificate_is_marked_on_every_page_and_stays_as_it_was_issued() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let mut reader = plant.storekeeper().await;
        let genuine = paper(&mut reader, &number, "a4").await;
        let why = "the wrong gauge was tested \u{6f22}";
        mark(&plant, &number, MarkKind::Withdrawn, why).await;
        assert_eq!(
            as_issued(&mut reader, &number).await,
            genuine,
            "byte for byte"
        );
        let marked = paper(&mut reader, &number, "a4").await;
        assert_ne!(marked, genuine);
        assert_eq!(marked, paper(&mut reader, &number, "a4").await);
        crate::papers::read_without_complaint(&marked);
        if let Some(words) = text(&marked) {
            // A character no font has does not keep the mark off the paper.
            assert!(
                words
                    .contains("This certificate was withdrawn on 2 March 2026. Do not rely on it.")
                    && words
                        .contains("Reason: the wrong gauge was tested ? Said by Test inspector."),
                "{words}"
            );
            let pages = words.matches("End of certificate").count();
            assert_eq!(pages, 1);
            let on_each = words.matches("WITHDRAWN 2 March 2026: do not rely on this certificate");
            assert!(on_each.count() >= 2, "{words}");
        }
        // The record and the seal inside are those that were issued.
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("marked.pdf");
        std::fs::write(&file, &marked).unwrap();
        if let Some(record) = ask("qpdf", &["--show-attachment=certificate.json"], &file, &[]) {
            assert_eq!(record, kept(&plant, &number).await.record.into_bytes());
        }
        sent(&plant, "c.pdf", &marked)
            .await
            .says("Withdrawn")
            .says("a copy this register marked as withdrawn")
            .says("the record and the seal inside it are those that were issued");
        sent(&plant, "c.pdf", &genuine)
            .await
            .says("Withdrawn")
            .says("byte for byte, a paper this register handed out")
            .does_not_say("marked as");
        reader
            .get(&format!("/pressure-tests/certificates/{number}"))
            .await
            .says("PDF marked withdrawn, A4")
            .says("As issued, A4");
        sound(&plant).await;
    }

    #[tokio::test]
    async fn a_superseded_certificate_is_marked_with_its_successor() {
        let plant = world::plant().await;
        let old = certified(&plant).await;
        let mut reader = plant.storekeeper().await;
        let genuine = paper(&mut reader, &old, "a4").await;
        let new = corrected(&plant, &old).await;
        let marked = paper(&mut reader, &old, "a4").await;
        if let Some(words) = text(&marked) {
            assert!(
                words.contains(
                    "This certificate was superseded on 2 March 2026. Do not rely on it."
                ) && words.contains(&format!("Rely on {new}, which replaced it."))
                    && words.contains("Reason: the place of the test was left out."),
                "{words}"
            );
        }
        sent(&plant, "c.pdf", &marked)
            .await
            .says("Superseded")
            .says("a copy this register marked as superseded");
        assert_eq!(as_issued(&mut reader, &old).await, genuine);
        // Withdrawn later, both copies that left the register are still known for what they are.
        mark(&plant, &old, MarkKind::Withdrawn, "the wrong gauge").await;
        let later = paper(&mut reader, &old, "a4").await;
        assert_ne!(later, marked);
        for (copy, word) in [(&marked, "superseded"), (&later, "withdrawn")] {
            sent(&plant, "c.pdf", copy)
                .await
                .says("Withdrawn")
                .says(&format!("a copy this register marked as {word}"));
        }
        sound(&plant).await;
    }

    #[tokio::test]
    async fn a_questioned_certificate_is_marked_on_every_page_until_the_doubt_is_settled() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let mut reader = plant.storekeeper().await;
        let genuine = paper(&mut reader, &number, "a4").await;
        let why = "pressure gauge found low";
        mark(&plant, &number, MarkKind::Questioned, why).await;
        let copy = paper(&mut reader, &number, "a4").await;
        assert_ne!(copy, genuine);
        assert_eq!(copy, paper(&mut reader, &number, "a4").await);
        crate::papers::read_without_complaint(&copy);
        if let Some(words) = text(&copy) {
            assert!(
                words.contains("This certificate was questioned on 2 March 2026. Do not rely on it before the plant has decided")
                    && words.contains("Reason: pressure gauge found low. Said by Test inspector."),
                "{words}"
            );
            let on_each = words.matches("QUESTIONED 2 March 2026: do not rely on this certificate");
            assert!(on_each.count() >= 2, "{words}");
        }
        assert_eq!(
            as_issued(&mut reader, &number).await,
            genuine,
            "byte for byte"
        );
        reader
            .get(&format!("/pressure-tests/certificates/{number}"))
            .await
            .says("PDF marked questioned, A4")
            .says("As issued, A4");
        // The check page tells the copy from the paper as issued.
        sent(&plant, "c.pdf", &copy)
            .await
            .says("Questioned")
            .says("a copy this register marked as questioned");
        sent(&plant, "c.pdf", &genuine)
            .await
            .says("Questioned")
            .says("byte for byte, a paper this register handed out")
            .does_not_say("marked as");
        mark(&plant, &number, MarkKind::Stands, "it read high").await;
        assert_eq!(paper(&mut reader, &number, "a4").await, genuine);
        sent(&plant, "c.pdf", &copy)
            .await
            .says("Genuine")
            .says("a copy this register marked as questioned");
        sound(&plant).await;
    }

    #[tokio::test]
    async fn a_copy_marked_with_a_doubt_that_was_settled_since_is_known_though_nobody_noted_it() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        mark(&plant, &number, MarkKind::Questioned, "found low").await;
        let kept = kept(&plant, &number).await;
        let record = serde_json::from_str(&kept.record).unwrap();
        let stamps = |plant: &Plant| {
            let store = plant.store.clone();
            let kept = kept.clone();
            async move {
                let mut db = store.read().await.unwrap();
                gaugewright::papers::marked::stamps(&mut db, &kept)
                    .await
                    .unwrap()
            }
        };
        let then = stamps(&plant).await.today.unwrap();
        let a4 = gaugewright::record::plant::Paper::A4;
        let copy = gaugewright::papers::check::copy_of(&kept, &record, &then, a4).unwrap();
        assert_eq!(verdict(&plant, &copy).await, Verdict::Questioned);
        mark(&plant, &number, MarkKind::Stands, "it read high").await;
        let now = stamps(&plant).await;
        assert!(now.today.is_none() && now.ever == [then], "{now:?}");
        assert_eq!(verdict(&plant, &copy).await, Verdict::Genuine);
    }

    #[tokio::test]
    async fn a_marked_copy_never_noted_is_known_by_setting_it_anew_and_a_changed_one_is_not() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        mark(&plant, &number, MarkKind::Withdrawn, "the wrong gauge").await;
        let kept = kept(&plant, &number).await;
        let record = serde_json::from_str(&kept.record).unwrap();
        let stamps = {
            let mut db = plant.store.read().await.unwrap();
            gaugewright::papers::marked::stamps(&mut db, &kept)
                .await
                .unwrap()
                .ever
        };
        let letter = gaugewright::record::plant::Paper::Letter;
        let copy = gaugewright::papers::check::copy_of(&kept, &record, &stamps[0], letter).unwrap();
        assert_eq!(verdict(&plant, &copy).await, Verdict::Withdrawn);
        let mut changed = copy.clone();
        changed.extend_from_slice(b"\n% note\n");
        assert_eq!(verdict(&plant, &changed).await, Verdict::Altered);
        // A mark that was never made makes no copy of this register.
        let mut other = stamps[0].clone();
        other.reason = "none at all".to_owned();
        let made_up = gaugewright::papers::check::copy_of(&kept, &record, &other, letter).unwrap();
        assert_eq!(verdict(&plant, &made_up).await, Verdict::Altered);
    }

    async fn mark(plant: &Plant, number: &str, kind: MarkKind, reason: &str) {
        let mut deed = plant.deed_of(Role::Inspector).await;
        let marking = acts::certificates::Marking {
            kind,
            reason,
            recall: None,
        };
        acts::certificates::mark(&mut deed, &number.parse().unwrap(), marking)
            .await
            .unwrap();
        deed.commit("").await.unwrap();
    }

    #[tokio::test]
    async fn an_inspector_withdraws_a_certificate_with_a_reason_and_the_password() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let page = format!("/pressure-tests/certificates/{number}/withdraw");
        let mut inspector = plant.inspector().await;
        inspector
            .fill(&page, &page, &[("reason", "the wrong gauge was tested")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Give your password");
        inspector
            .fill(
                &page,
                &page,
                &[
                    ("reason", "the wrong gauge was tested"),
                    ("password", PASSWORD),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        inspector
            .get(&format!("/pressure-tests/certificates/{number}"))
            .await
            .says("Withdrawn")
            .says("the wrong gauge was tested")
            .does_not_say("Correct it by a new one");
    }

    #[tokio::test]
    async fn one_issued_before_certificates_were_signed_stays_readable_and_says_so() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        // As an earlier version of the program left it: no key, no signature.
        let kept = kept(&plant, &number).await;
        plant
            .run(&format!(
                "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, supersedes)
                 VALUES ('TW-C-2026-0002', 2026, 2, {}, 3, '2026-03-02T10:00:00.000Z', '{}', '{}', {})",
                kept.test_id.0,
                kept.record
                    .replace("TW-C-2026-0001", "TW-C-2026-0002")
                    .replace('\'', "''"),
                gaugewright::record::certificate::hash(
                    &kept.record.replace("TW-C-2026-0001", "TW-C-2026-0002")
                ),
                kept.id.0
            ))
            .await
            .unwrap();
        plant
            .storekeeper()
            .await
            .get("/pressure-tests/certificates/TW-C-2026-0002")
            .await
            .says("Issued before certificates were signed");
        let pdf = paper(&mut plant.storekeeper().await, "TW-C-2026-0002", "a4").await;
        sent(&plant, "old.pdf", &pdf)
            .await
            .says("Agrees with the register, but was never signed with a key");
    }
}

mod harm {
    use std::io::Write;

    use axum::body::Body;
    use axum::http::{Method, Request};
    use flate2::Compression;
    use flate2::write::ZlibEncoder;

    use super::*;

    fn packed(bytes: &[u8]) -> Vec<u8> {
        let mut packing = ZlibEncoder::new(Vec::new(), Compression::best());
        packing.write_all(bytes).unwrap();
        packing.finish().unwrap()
    }

    /// Zeros that fit into a small file because they are packed twice would fill the memory if they
    /// were unpacked: they are not.
    #[tokio::test]
    async fn a_small_pdf_that_would_unpack_without_end_is_unknown_at_once() {
        let plant = world::plant().await;
        for (filter, data) in [
            ("/FlateDecode", packed(&vec![0; 200_000_000])),
            (
                "[/FlateDecode /FlateDecode]",
                packed(&packed(&vec![0; 200_000_000])),
            ),
        ] {
            let mut pdf = format!(
                "%PDF-1.7\n1 0 obj\n<< /Type /EmbeddedFile /Filter {filter} /Length {} >>\nstream\n",
                data.len()
            )
            .into_bytes();
            pdf.extend_from_slice(&data);
            pdf.extend_from_slice(
                b"\nendstream\nendobj\n2 0 obj\n<< /Type /Filespec /UF (certificate.json) /EF << /F 1 0 R >> >>\nendobj\ntrailer\n<< /Root 3 0 R >>\n%%EOF",
            );
            assert!(pdf.len() < 1_000_000);
            let begun = std::time::Instant::now();
            sent(&plant, "paper.pdf", &pdf)
                .await
                .is(StatusCode::OK)
                .says("Unknown");
            assert!(begun.elapsed().as_secs() < 5, "{:?}", begun.elapsed());
        }
    }

    #[tokio::test]
    async fn whoever_sends_slowly_keeps_nobody_else_waiting() {
        let plant = world::plant().await;
        let mut slow = Vec::new();
        for _ in 0..3 {
            let mut visitor = plant.visitor();
            let request = Request::builder()
                .method(Method::POST)
                .uri("/check")
                .header("content-type", "multipart/form-data; boundary=edge")
                .header("sec-fetch-site", "same-origin");
            let never = tokio_stream::pending::<Result<Vec<u8>, std::io::Error>>();
            let body = Body::from_stream(never);
            slow.push(tokio::spawn(
                async move { visitor.send(request, body).await },
            ));
            tokio::task::yield_now().await;
        }
        let quick = sent(&plant, "note.json", b"{}");
        let quick = tokio::time::timeout(std::time::Duration::from_secs(5), quick).await;
        quick.expect("at once").is(StatusCode::OK);
        for one in slow {
            one.abort();
        }
    }
}

mod keys {
    use super::*;

    /// Signature, hash and canonical form, by programs that know nothing of us: qpdf takes the files
    /// out of the PDF, OpenSSL checks the Ed25519 signature, Python writes the JSON anew.
    #[tokio::test]
    async fn openssl_and_python_agree_with_the_seal_inside_the_paper() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let pdf = paper(&mut plant.storekeeper().await, &number, "letter").await;
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("c.pdf"), &pdf).unwrap();
        let Some(record) = ask(
            "qpdf",
            &["--show-attachment=certificate.json"],
            &at("c.pdf"),
            &[],
        ) else {
            return;
        };
        let seal = ask("qpdf", &["--show-attachment=seal.json"], &at("c.pdf"), &[]).unwrap();
        let seal: serde_json::Value = serde_json::from_slice(&seal).unwrap();
        assert_eq!(record, kept(&plant, &number).await.record.as_bytes());
        std::fs::write(at("record.json"), &record).unwrap();
        let signature: Vec<u8> = (0..64)
            .map(|i| {
                let text = seal["signature"].as_str().unwrap();
                u8::from_str_radix(&text[2 * i..2 * i + 2], 16).unwrap()
            })
            .collect();
        std::fs::write(at("signature"), signature).unwrap();
        let page = plant.visitor().get("/check/keys").await;
        let pem = page
            .text
            .split("-----BEGIN PUBLIC KEY-----")
            .nth(1)
            .unwrap();
        let pem = pem.split("-----END PUBLIC KEY-----").next().unwrap();
        let pem = format!("-----BEGIN PUBLIC KEY-----{pem}-----END PUBLIC KEY-----\n");
        std::fs::write(at("key.pem"), pem).unwrap();
        let signature = at("signature").display().to_string();
        let record_at = at("record.json").display().to_string();
        let told = ask(
            "openssl",
            &[
                "pkeyutl", "-verify", "-rawin", "-sigfile", &signature, "-in", &record_at,
                "-pubin", "-inkey",
            ],
            &at("key.pem"),
            &[],
        );
        if let Some(told) = told {
            assert!(String::from_utf8_lossy(&told).contains("Verified Successfully"));
        }
        if let Some(told) = ask("sha256sum", &[], &at("record.json"), &[]) {
            let told = String::from_utf8(told).unwrap();
            assert!(told.starts_with(seal["sha256"].as_str().unwrap()), "{told}");
        }
        let program = "import json,sys; sys.stdout.write(json.dumps(json.load(open(sys.argv[1], encoding='utf-8')), sort_keys=True, separators=(',', ':'), ensure_ascii=False))";
        if let Some(told) = ask("python3", &["-c", program], &at("record.json"), &[]) {
            assert_eq!(told, record, "the canonical form another program writes");
        }
    }

    #[tokio::test]
    async fn the_square_on_the_paper_reads_as_the_code() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let seal = kept(&plant, &number).await.seal.unwrap();
        let pdf = paper(&mut plant.storekeeper().await, &number, "a4").await;
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("c.pdf");
        std::fs::write(&file, &pdf).unwrap();
        let picture = folder.path().join("page");
        let to = picture.display().to_string();
        if ask(
            "pdftoppm",
            &["-r", "200", "-gray", "-png", "-singlefile"],
            &file,
            &[&to],
        )
        .is_none()
        {
            return;
        }
        let picture = folder.path().join("page.png");
        if let Some(told) = ask("zbarimg", &["--quiet", "--raw"], &picture, &[]) {
            let told = String::from_utf8(told).unwrap();
            assert_eq!(told.trim(), format!("{number} {}", seal.code));
        }
    }

    #[tokio::test]
    async fn a_changed_key_signs_from_then_on_and_the_old_one_still_proves() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        let first = kept(&plant, &number).await.seal.unwrap().key;
        let mut administrator = plant.administrator().await;
        administrator
            .fill(
                "/plant/keys",
                "/plant/keys",
                &[
                    ("reason", "the keeper of the file left"),
                    ("password", PASSWORD),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
        let new = corrected(&plant, &number).await;
        let second = kept(&plant, &new).await.seal.unwrap().key;
        assert_ne!(first, second);
        for number in [&number, &new] {
            let kept = kept(&plant, number).await;
            assert!(kept.seal.as_ref().unwrap().holds(&kept.record));
        }
        administrator
            .get("/plant/keys")
            .await
            .says("the keeper of the file left")
            .says("in use");
        plant
            .visitor()
            .get("/check/keys")
            .await
            .says(&first.fingerprint)
            .says(&second.fingerprint);
        sound(&plant).await;
    }

    #[tokio::test]
    async fn a_lost_key_file_costs_nothing_but_a_new_key() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        std::fs::remove_file(plant.folder.join(acts::keys::FILE)).unwrap();
        let new = corrected(&plant, &number).await;
        let (old, new) = (kept(&plant, &number).await, kept(&plant, &new).await);
        assert_ne!(
            old.seal.as_ref().unwrap().key,
            new.seal.as_ref().unwrap().key
        );
        assert!(old.seal.unwrap().holds(&old.record) && new.seal.unwrap().holds(&new.record));
        sound(&plant).await;
    }

    #[cfg(unix)]
    #[tokio::test]
    async fn the_secret_half_is_readable_by_its_owner_alone_and_not_in_the_register() {
        use std::os::unix::fs::PermissionsExt;
        let plant = world::plant().await;
        certified(&plant).await;
        let file = plant.folder.join(acts::keys::FILE);
        let mode = std::fs::metadata(&file).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        let text = std::fs::read_to_string(&file).unwrap();
        let line = text.lines().nth(1).unwrap().to_owned();
        let register = std::fs::read(plant.folder.join("register.db")).unwrap();
        assert!(
            !register
                .windows(line.len())
                .any(|some| some == line.as_bytes())
        );
    }

    #[tokio::test]
    async fn a_signature_made_with_another_key_is_found_by_the_check_of_the_register() {
        let plant = world::plant().await;
        let number = certified(&plant).await;
        plant
            .run(
                "DROP TRIGGER certificate_unchanged;
                 UPDATE certificate SET signature = replace(signature, substr(signature, 1, 2), 'ab')",
            )
            .await
            .unwrap();
        let mut db = store::open_for_reading(&plant.folder).await.unwrap();
        let report = acts::verify::verify(&mut db).await.unwrap();
        assert!(
            report
                .findings
                .iter()
                .any(|found| found.contains("the signature under certificate")),
            "{:?}",
            report.findings
        );
        let code = code_of(&kept(&plant, &number).await.sha256);
        plant
            .visitor()
            .get(&format!("/check?code={code}"))
            .await
            .says("Altered")
            .says("the register itself was altered");
    }

    #[tokio::test]
    async fn only_the_administrator_changes_the_key() {
        let plant = Plant::new().await;
        let mut deed = Deed::begin(&plant.store, &plant.clock, Who::program(), None)
            .await
            .unwrap();
        acts::keys::change(&mut deed, "no")
            .await
            .expect_err("too short a reason");
        drop(deed);
        let mut deed = plant.deed_of(Role::Engineer).await;
        acts::keys::change(&mut deed, "a good reason")
            .await
            .expect_err("not an engineer");
    }
}
