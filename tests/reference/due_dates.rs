//! Which date governs a gauge: one test a rule of the trade, then laws over random gauges.
//! Month arithmetic itself is checked in `dates`.

use std::error::Error;

use gaugewright::calc::due::{
    Candidate, Deferral, Facts, Isolation, Moves, Rule, Window, WindowPull, decide, governing_only,
    rebuild_only,
};
use proptest::prelude::*;
use time::macros::date;
use time::{Date, Duration};

type Checked = Result<(), Box<dyn Error>>;

fn rebuilt(anchor: Date, months: u32) -> Facts {
    Facts {
        anchor: Some(anchor),
        rebuild_months: Some(months),
        ..Facts::default()
    }
}

/// A gauge that is due on a day, can only be done in a shutdown, and has three windows to choose.
fn in_shutdown(due: Date) -> Facts {
    Facts {
        wall_due: Some(due),
        isolation: Isolation::ShutdownOnly,
        windows: vec![AUTUMN, SPRING, NEXT_SPRING],
        ..Facts::default()
    }
}

const SPRING: Window = Window {
    starts: date!(2026 - 03 - 02),
    ends: date!(2026 - 03 - 15),
};
const AUTUMN: Window = Window {
    starts: date!(2026 - 09 - 07),
    ends: date!(2026 - 09 - 20),
};
const NEXT_SPRING: Window = Window {
    starts: date!(2027 - 03 - 01),
    ends: date!(2027 - 03 - 14),
};

/// What governs, where something does.
fn at(rule: Rule, date: Date) -> Option<Candidate> {
    Candidate { rule, date }.into()
}

#[test]
fn the_rebuild_interval_runs_from_the_last_return_to_service() -> Checked {
    // library: python-dateutil 4.0.0 (2025-10-02 + 18 months; 2023-08-31 + 18 months)
    let cases = [
        (date!(2025 - 10 - 02), 18, date!(2027 - 04 - 02)),
        (date!(2024 - 03 - 15), 18, date!(2025 - 09 - 15)),
        (date!(2023 - 08 - 31), 18, date!(2025 - 02 - 28)),
    ];
    for (anchor, months, expected) in cases {
        let decision = decide(&rebuilt(anchor, months))?;
        assert_eq!(decision.governing, at(Rule::RebuildInterval, expected));
        assert_eq!(decision.latest_date, Some(expected));
        assert_eq!(decision.window, WindowPull::NotNeeded);
        assert_eq!(
            decision.working.answer(),
            Some(super::said(expected).as_str())
        );
    }
    Ok(())
}

#[test]
fn a_gauge_without_rules_has_no_due_date() -> Checked {
    // common practice, no source
    for facts in [
        Facts::default(),
        Facts {
            anchor: Some(date!(2024 - 01 - 01)),
            ..Facts::default()
        },
        Facts {
            rebuild_months: Some(12),
            ..Facts::default()
        },
    ] {
        let decision = decide(&facts)?;
        assert_eq!(decision.governing, None);
        assert_eq!(decision.latest_date, None);
        assert!(decision.considered.is_empty());
        assert_eq!(decision.window, WindowPull::NotNeeded);
        assert!(!decision.working.remarks.is_empty());
    }
    Ok(())
}

#[test]
fn the_earliest_rule_governs_and_all_are_shown_by_date() -> Checked {
    // common practice, no source
    let facts = Facts {
        look_over_anchor: Some(date!(2025 - 11 - 30)),
        look_over_months: Some(3),
        wall_due: Some(date!(2026 - 08 - 01)),
        gasket_due: Some(date!(2027 - 01 - 01)),
        retorque_due: Some(date!(2026 - 05 - 05)),
        recall_on: Some(date!(2026 - 04 - 01)),
        failure_on: Some(date!(2026 - 06 - 06)),
        ..rebuilt(date!(2024 - 12 - 01), 24)
    };
    let decision = decide(&facts)?;
    assert_eq!(
        decision.governing,
        at(Rule::LookOver, date!(2026 - 02 - 28))
    );
    let shown: Vec<Rule> = decision.considered.iter().map(|one| one.rule).collect();
    assert_eq!(
        shown,
        [
            Rule::LookOver,
            Rule::Recall,
            Rule::Retorque,
            Rule::Failure,
            Rule::WallHalfLife,
            Rule::RebuildInterval,
            Rule::GasketAge,
        ]
    );
    Ok(())
}

#[test]
fn at_the_same_date_the_graver_reason_is_named() -> Checked {
    // common practice, no source
    let day = date!(2026 - 05 - 05);
    let mut facts = Facts {
        look_over_anchor: Some(date!(2026 - 04 - 05)),
        look_over_months: Some(1),
        wall_due: Some(day),
        gasket_due: Some(day),
        retorque_due: Some(day),
        recall_on: Some(day),
        withdrawn_on: Some(day),
        failure_on: Some(day),
        ..rebuilt(date!(2025 - 05 - 05), 12)
    };
    let order: Vec<Rule> = decide(&facts)?
        .considered
        .iter()
        .map(|one| one.rule)
        .collect();
    assert_eq!(order, Rule::ALL[..8]);
    facts.failure_on = None;
    assert_eq!(decide(&facts)?.governing, at(Rule::Recall, day));
    assert_eq!(governing_only(&facts)?.governing, at(Rule::Recall, day));
    Ok(())
}

#[test]
fn a_deferral_moves_interval_look_over_and_gasket_age() -> Checked {
    // common practice, no source
    let facts = Facts {
        look_over_anchor: Some(date!(2026 - 01 - 01)),
        look_over_months: Some(3),
        gasket_due: Some(date!(2026 - 05 - 01)),
        deferral: Some(Deferral {
            moves: Moves::All,
            until: date!(2026 - 09 - 30),
            hard_limit: date!(2027 - 01 - 01),
        }),
        ..rebuilt(date!(2024 - 06 - 01), 24)
    };
    let decision = decide(&facts)?;
    assert_eq!(
        decision.governing,
        at(Rule::Deferral, date!(2026 - 09 - 30))
    );
    assert_eq!(decision.considered.len(), 1);
    let moved: Vec<Rule> = decision.deferred.iter().map(|one| one.rule).collect();
    assert_eq!(
        moved,
        [Rule::RebuildInterval, Rule::GasketAge, Rule::LookOver]
    );
    Ok(())
}

#[test]
fn a_deferral_moves_what_it_names_and_the_other_date_stands() -> Checked {
    // common practice, no source
    let signed = |moves, until| {
        Some(Deferral {
            moves,
            until,
            hard_limit: date!(2027 - 01 - 01),
        })
    };
    let mut facts = Facts {
        look_over_anchor: Some(date!(2026 - 01 - 01)),
        look_over_months: Some(3),
        deferral: signed(Moves::Rebuild, date!(2026 - 09 - 30)),
        ..rebuilt(date!(2024 - 06 - 01), 24)
    };
    assert_eq!(
        decide(&facts)?.governing,
        at(Rule::LookOver, date!(2026 - 04 - 01))
    );
    facts.look_over_deferral = signed(Moves::LookOver, date!(2026 - 05 - 15));
    let decision = decide(&facts)?;
    assert_eq!(
        decision.governing,
        at(Rule::Deferral, date!(2026 - 05 - 15))
    );
    assert_eq!(decision.considered.len(), 2);
    assert_eq!(decision.deferred.len(), 2);
    facts.deferral = None;
    assert_eq!(
        decide(&facts)?.considered[1].rule,
        Rule::RebuildInterval,
        "the rebuild is not moved by a deferral of the look-over"
    );
    Ok(())
}

#[test]
fn a_deferral_never_passes_its_hard_limit() -> Checked {
    // common practice, no source
    let mut facts = rebuilt(date!(2024 - 06 - 01), 24);
    facts.deferral = Some(Deferral {
        moves: Moves::All,
        until: date!(2027 - 12 - 31),
        hard_limit: date!(2026 - 08 - 01),
    });
    assert_eq!(
        decide(&facts)?.governing,
        at(Rule::Deferral, date!(2026 - 08 - 01))
    );
    facts.deferral = Some(Deferral {
        moves: Moves::All,
        until: date!(2027 - 12 - 31),
        hard_limit: date!(2026 - 06 - 01),
    });
    assert_eq!(
        decide(&facts)?.governing,
        at(Rule::RebuildInterval, date!(2026 - 06 - 01)),
        "a limit on the due date itself leaves nothing to defer"
    );
    Ok(())
}

#[test]
fn a_deferral_never_moves_failure_recall_retorque_or_a_worn_wall() -> Checked {
    // common practice, no source
    let day = date!(2026 - 05 - 01);
    let deferral = Some(Deferral {
        moves: Moves::All,
        until: date!(2027 - 05 - 01),
        hard_limit: date!(2027 - 05 - 01),
    });
    for (rule, facts) in [
        (
            Rule::Failure,
            Facts {
                failure_on: Some(day),
                deferral,
                ..Facts::default()
            },
        ),
        (
            Rule::Recall,
            Facts {
                recall_on: Some(day),
                deferral,
                ..Facts::default()
            },
        ),
        (
            Rule::Retorque,
            Facts {
                retorque_due: Some(day),
                deferral,
                ..Facts::default()
            },
        ),
        (
            Rule::WallHalfLife,
            Facts {
                wall_due: Some(day),
                deferral,
                ..Facts::default()
            },
        ),
    ] {
        let decision = decide(&facts)?;
        assert!(!rule.may_be_deferred());
        assert_eq!(decision.governing, at(rule, day));
        assert!(decision.deferred.is_empty());
    }
    Ok(())
}

#[test]
fn an_earlier_deferral_does_not_bring_a_date_forward() -> Checked {
    // common practice, no source
    let mut facts = rebuilt(date!(2024 - 06 - 01), 24);
    facts.deferral = Some(Deferral {
        moves: Moves::All,
        until: date!(2026 - 01 - 01),
        hard_limit: date!(2027 - 01 - 01),
    });
    let decision = decide(&facts)?;
    assert_eq!(
        decision.governing,
        at(Rule::RebuildInterval, date!(2026 - 06 - 01))
    );
    assert!(decision.deferred.is_empty());
    Ok(())
}

#[test]
fn a_gauge_that_cannot_be_isolated_is_pulled_back_to_the_last_window_that_ends_in_time() -> Checked
{
    // common practice, no source: the last day of a window is a working day, and the due day is
    // still in time
    let cases = [
        (date!(2026 - 03 - 01), None),
        (date!(2026 - 03 - 14), None),
        (date!(2026 - 03 - 15), Some(SPRING)),
        (date!(2026 - 03 - 16), Some(SPRING)),
        (date!(2026 - 09 - 19), Some(SPRING)),
        (date!(2026 - 09 - 20), Some(AUTUMN)),
        (date!(2026 - 09 - 21), Some(AUTUMN)),
        (date!(2027 - 02 - 28), Some(AUTUMN)),
        (date!(2027 - 03 - 14), Some(NEXT_SPRING)),
        (date!(2030 - 01 - 01), Some(NEXT_SPRING)),
    ];
    for (due, window) in cases {
        let decision = decide(&in_shutdown(due))?;
        assert_eq!(decision.governing, at(Rule::WallHalfLife, due));
        if let Some(window) = window {
            assert_eq!(decision.window, WindowPull::PulledTo(window), "{due}");
            assert_eq!(decision.latest_date, Some(window.ends));
            assert_eq!(
                decision.working.answer(),
                Some(super::said(window.ends).as_str())
            );
        } else {
            assert_eq!(decision.window, WindowPull::NoWindow, "{due}");
            assert_eq!(decision.latest_date, Some(due), "the date stands, flagged");
            assert!(
                decision
                    .working
                    .remarks
                    .iter()
                    .any(|it| it.contains("no shutdown window"))
            );
        }
    }
    Ok(())
}

#[test]
fn a_failure_is_due_now_and_not_pulled_back() -> Checked {
    // common practice, no source
    let facts = Facts {
        failure_on: Some(date!(2026 - 06 - 01)),
        ..in_shutdown(date!(2026 - 10 - 01))
    };
    let decision = decide(&facts)?;
    assert_eq!(decision.governing, at(Rule::Failure, date!(2026 - 06 - 01)));
    assert_eq!(decision.window, WindowPull::NotNeeded);
    assert_eq!(decision.latest_date, Some(date!(2026 - 06 - 01)));
    Ok(())
}

#[test]
fn a_look_over_needs_no_shutdown_but_does_not_hide_the_window_of_the_rebuild() -> Checked {
    // common practice, no source
    let mut facts = in_shutdown(date!(2026 - 10 - 01));
    facts.look_over_anchor = Some(date!(2026 - 01 - 01));
    facts.look_over_months = Some(3);
    let decision = decide(&facts)?;
    assert_eq!(
        decision.governing,
        at(Rule::LookOver, date!(2026 - 04 - 01))
    );
    assert_eq!(decision.window, WindowPull::PulledTo(AUTUMN));
    assert_eq!(decision.latest_date, Some(date!(2026 - 04 - 01)));

    facts.wall_due = Some(date!(2026 - 05 - 01));
    let earlier = decide(&facts)?;
    assert_eq!(earlier.window, WindowPull::PulledTo(SPRING));
    assert_eq!(
        earlier.latest_date,
        Some(SPRING.ends),
        "the window comes before the look-over"
    );

    facts.wall_due = None;
    let alone = decide(&facts)?;
    assert_eq!(alone.window, WindowPull::NotNeeded);
    assert_eq!(alone.latest_date, Some(date!(2026 - 04 - 01)));
    Ok(())
}

#[test]
fn kits_are_wanted_for_the_rebuild_behind_an_earlier_look_over() -> Checked {
    // common practice, no source: a look-over and a re-torque open no gauge and take no kit
    let facts = Facts {
        look_over_anchor: Some(date!(2026 - 01 - 31)),
        look_over_months: Some(3),
        retorque_due: Some(date!(2026 - 02 - 10)),
        ..rebuilt(date!(2025 - 10 - 02), 18)
    };
    assert_eq!(
        governing_only(&facts)?.governing,
        at(Rule::Retorque, date!(2026 - 02 - 10))
    );
    // library: python-dateutil 4.0.0 (2025-10-02 + 18 months), as above
    let rebuild = rebuild_only(&facts)?;
    assert_eq!(
        rebuild.governing,
        at(Rule::RebuildInterval, date!(2027 - 04 - 02))
    );
    assert_eq!(rebuild.latest_date, Some(date!(2027 - 04 - 02)));

    // Where only a shutdown will do, the kits are wanted for the window.
    let bound = Facts {
        isolation: Isolation::ShutdownOnly,
        windows: vec![AUTUMN, SPRING, NEXT_SPRING],
        ..facts.clone()
    };
    assert_eq!(
        rebuild_only(&bound)?.latest_date,
        Some(date!(2027 - 03 - 14))
    );

    let never = Facts {
        rebuild_months: None,
        ..facts.clone()
    };
    assert_eq!(rebuild_only(&never)?.governing, None);
    let refused = Facts {
        rebuild_months: Some(0),
        ..facts
    };
    assert!(rebuild_only(&refused).is_err_and(|error| error.input == "rebuild interval"));
    Ok(())
}

#[test]
fn a_deferral_needs_a_window_only_for_work_that_does() -> Checked {
    // common practice, no source
    let deferral = Some(Deferral {
        moves: Moves::All,
        until: date!(2026 - 10 - 01),
        hard_limit: date!(2026 - 12 - 01),
    });
    let look_over = Facts {
        look_over_anchor: Some(date!(2026 - 01 - 01)),
        look_over_months: Some(3),
        deferral,
        isolation: Isolation::ShutdownOnly,
        windows: vec![SPRING],
        ..Facts::default()
    };
    assert_eq!(decide(&look_over)?.window, WindowPull::NotNeeded);
    let rebuild = Facts {
        anchor: Some(date!(2025 - 04 - 01)),
        rebuild_months: Some(12),
        ..look_over
    };
    assert_eq!(decide(&rebuild)?.window, WindowPull::PulledTo(SPRING));
    Ok(())
}

#[test]
fn a_window_that_began_before_the_last_return_to_service_does_not_count() -> Checked {
    // common practice, no source
    let mut facts = Facts {
        isolation: Isolation::ShutdownOnly,
        windows: vec![SPRING],
        ..rebuilt(date!(2026 - 03 - 10), 12)
    };
    assert_eq!(
        decide(&facts)?.window,
        WindowPull::NoWindow,
        "rebuilt in that window"
    );
    facts.anchor = Some(date!(2026 - 03 - 01));
    assert_eq!(decide(&facts)?.window, WindowPull::PulledTo(SPRING));
    facts.windows.push(Window {
        starts: date!(2026 - 03 - 08),
        ends: SPRING.ends,
    });
    assert_eq!(
        decide(&facts)?.window,
        WindowPull::PulledTo(SPRING),
        "of two that end together the one with more days"
    );
    Ok(())
}

/// Both ways to decide refuse the facts and name the same input.
#[track_caller]
fn refused(input: &str, spoil: impl FnOnce(&mut Facts)) {
    let mut facts = rebuilt(date!(2024 - 06 - 01), 24);
    spoil(&mut facts);
    assert_eq!(decide(&facts).err().map(|why| why.input), Some(input));
    let short = governing_only(&facts);
    assert_eq!(short.err().map(|why| why.input), Some(input));
}

const TOO_EARLY: Date = date!(1899 - 12 - 31);
const TOO_LATE: Date = date!(2201 - 01 - 01);

#[test]
fn dates_and_intervals_out_of_range_are_refused_and_named() {
    refused("last return to service", |it| it.anchor = Some(TOO_EARLY));
    refused("rebuild interval", |it| it.rebuild_months = Some(0));
    refused("date after adding months", |it| {
        it.rebuild_months = Some(4000);
    });
    refused("last look-over", |it| it.look_over_anchor = Some(TOO_LATE));
    refused("look-over interval", |it| it.look_over_months = Some(0));
    refused("date of the next wall measurement", |it| {
        it.wall_due = Some(TOO_LATE);
    });
    refused("date of the gasket age", |it| {
        it.gasket_due = Some(TOO_LATE);
    });
    refused("date of the failure", |it| it.failure_on = Some(TOO_EARLY));
    refused("date of the re-torque", |it| {
        it.retorque_due = Some(TOO_LATE);
    });
    refused("date of the recall", |it| it.recall_on = Some(TOO_EARLY));
}

#[test]
fn deferrals_and_windows_out_of_range_are_refused_and_named() {
    let (first, last) = (SPRING.starts, SPRING.ends);
    refused("deferral", |it| {
        it.deferral = Some(Deferral {
            moves: Moves::All,
            until: TOO_LATE,
            hard_limit: last,
        });
    });
    refused("hard limit of the deferral", |it| {
        it.deferral = Some(Deferral {
            moves: Moves::All,
            until: last,
            hard_limit: TOO_LATE,
        });
    });
    refused("first day of the shutdown window", |it| {
        it.windows = vec![Window {
            starts: TOO_EARLY,
            ends: last,
        }];
    });
    refused("last day of the shutdown window", |it| {
        it.windows = vec![Window {
            starts: last,
            ends: first,
        }];
    });
    refused("last day of the shutdown window", |it| {
        it.windows = vec![Window {
            starts: first,
            ends: TOO_LATE,
        }];
    });
}

#[test]
fn every_rule_has_its_words_and_its_written_name() -> Checked {
    let names = [
        (
            Rule::RebuildInterval,
            "\"rebuild-interval\"",
            "rebuild interval",
        ),
        (Rule::LookOver, "\"look-over\"", "look-over interval"),
        (
            Rule::WallHalfLife,
            "\"wall-half-life\"",
            "half-life of a worn wall",
        ),
        (Rule::GasketAge, "\"gasket-age\"", "gasket age"),
        (Rule::Failure, "\"failure\"", "failure in service"),
        (
            Rule::Retorque,
            "\"retorque\"",
            "re-torque after the first heat cycle",
        ),
        (Rule::Recall, "\"recall\"", "recall"),
        (Rule::Withdrawn, "\"withdrawn\"", "certificate withdrawn"),
        (Rule::Deferral, "\"deferral\"", "deferral"),
    ];
    for (rule, written, words) in names {
        assert_eq!(serde_json::to_string(&rule)?, written);
        assert_eq!(rule.words(), words);
        assert!(Rule::ALL.contains(&rule));
    }
    let decision = decide(&in_shutdown(date!(2026 - 10 - 01)))?;
    let text = serde_json::to_string(&decision)?;
    assert!(text.contains("\"latest_date\":\"2026-09-20\""), "{text}");
    assert_eq!(decision, serde_json::from_str(&text)?);
    Ok(())
}

#[test]
fn facts_with_absent_dates_are_read_back_inside_a_tagged_type() -> Checked {
    #[derive(Debug, PartialEq, serde::Serialize, serde::Deserialize)]
    #[serde(tag = "kind")]
    enum Kept {
        Gauge { facts: Facts },
    }
    let kept = Kept::Gauge {
        facts: in_shutdown(date!(2026 - 10 - 01)),
    };
    let text = serde_json::to_string(&kept)?;
    assert!(text.contains("\"anchor\":null"), "{text}");
    assert_eq!(kept, serde_json::from_str(&text)?);
    assert!(serde_json::from_str::<Kept>(&text.replace("2026-10-01", "2026-13-01")).is_err());
    Ok(())
}

fn some_date() -> impl Strategy<Value = Date> {
    (0_i64..4000).prop_map(|days| date!(2020 - 01 - 01).saturating_add(Duration::days(days)))
}

fn some_facts() -> impl Strategy<Value = Facts> {
    let dates = (
        proptest::option::of(some_date()),
        proptest::option::of(some_date()),
        proptest::option::of(some_date()),
        proptest::option::of(some_date()),
        proptest::option::weighted(0.2, some_date()),
        proptest::option::of(some_date()),
        proptest::option::weighted(0.2, some_date()),
    );
    let intervals = (
        proptest::option::of(1_u32..60),
        proptest::option::of(1_u32..24),
    );
    let deferral = proptest::option::of((some_date(), some_date()));
    let windows = proptest::collection::vec((some_date(), 0_i64..30), 0..8);
    (dates, intervals, deferral, windows, any::<bool>()).prop_map(
        |(dates, intervals, deferral, windows, shutdown)| Facts {
            withdrawn_on: None,
            look_over_deferral: None,
            anchor: dates.0,
            rebuild_months: intervals.0,
            look_over_anchor: dates.1,
            look_over_months: intervals.1,
            wall_due: dates.2,
            gasket_due: dates.3,
            failure_on: dates.4,
            retorque_due: dates.5,
            recall_on: dates.6,
            deferral: deferral.map(|(until, hard_limit)| Deferral {
                moves: Moves::All,
                until,
                hard_limit,
            }),
            isolation: if shutdown {
                Isolation::ShutdownOnly
            } else {
                Isolation::InService
            },
            windows: windows
                .into_iter()
                .map(|(starts, days)| Window {
                    starts,
                    ends: starts.saturating_add(Duration::days(days)),
                })
                .collect(),
        },
    )
}

proptest! {
    #[test]
    fn the_short_way_and_the_shown_way_agree(facts in some_facts()) {
        let (Ok(short), Ok(shown)) = (governing_only(&facts), decide(&facts)) else {
            return Err(TestCaseError::fail("facts in range were refused"));
        };
        prop_assert_eq!(short.governing, shown.governing);
        prop_assert_eq!(short.latest_date, shown.latest_date);
        prop_assert_eq!(short.window, shown.window);
        prop_assert_eq!(shown.governing, shown.considered.first().copied());
        prop_assert!(shown.considered.is_sorted_by_key(|one| one.date));
    }

    #[test]
    fn a_deferral_never_shortens_and_never_passes_the_limit(facts in some_facts()) {
        let Ok(with) = decide(&facts) else { return Ok(()) };
        let Ok(without) = decide(&Facts { deferral: None, ..facts.clone() }) else { return Ok(()) };
        prop_assert!(with.governing.map(|it| it.date) >= without.governing.map(|it| it.date));
        if let Some(deferral) = facts.deferral {
            let limit = deferral.until.min(deferral.hard_limit);
            prop_assert!(with.deferred.iter().all(|one| one.rule.may_be_deferred() && one.date < limit));
            prop_assert!(with.considered.iter().all(|one| one.rule != Rule::Deferral || one.date == limit));
        }
    }

    #[test]
    fn the_latest_date_is_a_window_end_or_a_date_that_stands(facts in some_facts()) {
        let Ok(decision) = decide(&facts) else { return Ok(()) };
        prop_assert!(decision.latest_date <= decision.governing.map(|it| it.date));
        prop_assert_eq!(decision.latest_date.is_some(), decision.governing.is_some());
        if let WindowPull::PulledTo(window) = decision.window {
            prop_assert_eq!(facts.isolation, Isolation::ShutdownOnly);
            prop_assert!(facts.windows.contains(&window));
            // No other window would have left more time: none ends later and still before the
            // first date that needs the gauge out of service.
            let work = decision.considered.iter().find(|one| match one.rule {
                Rule::LookOver => false,
                Rule::Deferral => decision.deferred.iter().any(|it| it.rule != Rule::LookOver),
                _ => true,
            });
            let best = work.is_some_and(|one| {
                let in_time = facts.windows.iter().filter(|other| {
                    other.ends <= one.date
                        && facts.anchor.is_none_or(|anchor| other.starts > anchor)
                });
                in_time.map(|other| other.ends).max() == Some(window.ends)
            });
            prop_assert!(best);
        } else {
            prop_assert_eq!(decision.latest_date, decision.governing.map(|it| it.date));
        }
    }

    #[test]
    fn the_order_of_the_windows_does_not_matter(facts in some_facts()) {
        let mut turned = facts.clone();
        turned.windows.reverse();
        prop_assert_eq!(governing_only(&facts), governing_only(&turned));
    }
}
