//! One statement for each rule of the schema, and the words a person reads when it is refused.
//! The statements run on the world of `mod.rs`, which every one of them leaves as it was.

/// Triggers that refuse.
pub const TRIGGERS: &[(&str, &str, &str)] = &[
    (
        "deferral_request_moves_unchanged",
        "UPDATE deferral_request SET moves = 'look-over' WHERE decision IS NULL",
        "A deferral that was asked for is decided, never changed",
    ),
    (
        "failure_taken_back_for_good",
        "UPDATE failure SET taken_back_at = '2026-03-01T08:00:00.000Z', taken_back_by = 1, taken_back_why = 'wrong gauge' WHERE id = 2;
         UPDATE failure SET taken_back_at = NULL, taken_back_by = NULL, taken_back_why = NULL WHERE id = 2",
        "A failure that was answered or taken back is never changed",
    ),
    (
        "failure_taken_back_whole",
        "UPDATE failure SET taken_back_at = '2026-03-01T08:00:00.000Z' WHERE id = 2",
        "A failure is taken back with who did it and why",
    ),
    (
        "re_torque_after_return",
        "INSERT INTO re_torque (gauge_id, rebuild_id, on_date, facts, person_id, at) VALUES (2, 2, '2026-03-10', '{}', 1, '')",
        "Bolting is tightened again after the gauge was returned",
    ),
    (
        "re_torque_unchanged",
        "UPDATE re_torque SET on_date = '2025-03-11'",
        "A re-torque is evidence and is not changed",
    ),
    (
        "re_torque_kept",
        "DELETE FROM re_torque",
        "A re-torque is never deleted",
    ),
    (
        "bench_photo_open",
        "INSERT INTO bench_photo (rebuild_id, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (1, '', 1, 1, 1, x'00', x'ff', x'ff')",
        "No photograph is added to a finished rebuild",
    ),
    (
        "bench_photo_unchanged",
        "UPDATE bench_photo SET caption = 'another'",
        "A photograph taken at the bench is evidence and is not changed",
    ),
    (
        "bench_photo_kept",
        "DELETE FROM bench_photo",
        "A photograph taken at the bench is never deleted",
    ),
    (
        "hand_over_open",
        "INSERT INTO hand_over (rebuild_id, person_id, to_id, note, at) VALUES (1, 1, 4, 'locks hang', '')",
        "A finished rebuild is not handed over",
    ),
    (
        "hand_over_unchanged",
        "UPDATE hand_over SET note = 'no locks hang'",
        "A hand-over is never changed; hand over again",
    ),
    (
        "hand_over_kept",
        "DELETE FROM hand_over",
        "A hand-over is never deleted",
    ),
    (
        "hold_on_test",
        "INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id) VALUES (2, 1, 'water', '', 1)",
        "A hold begins while the gauge is on test",
    ),
    (
        "hold_unchanged",
        "UPDATE hold SET began_at = ''",
        "A hold is never changed; begin another",
    ),
    ("hold_kept", "DELETE FROM hold", "A hold is never deleted"),
    (
        "hold_reading_unchanged",
        "UPDATE hold_reading SET at = ''",
        "A reading is never changed; read again",
    ),
    (
        "hold_reading_kept",
        "DELETE FROM hold_reading",
        "A reading is never deleted",
    ),
    (
        "stock_line_held_back",
        "INSERT INTO recall (lot_id, until_on, reason, person_id, at) VALUES (1, '2026-03-01', 'glass too thin', 4, ''); INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, rebuild_id) VALUES (1, 'issue', -1, 5, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, 2)",
        "This lot is recalled and not issued",
    ),
    (
        "recall_unchanged",
        "UPDATE recall SET reason = 'none at all'",
        "A recall is evidence and is not changed",
    ),
    (
        "recall_kept",
        "DELETE FROM recall",
        "A recall is never deleted",
    ),
    (
        "recall_decision_unchanged",
        "UPDATE recall_decision SET decision = 'stands'",
        "A decision is never changed; decide again",
    ),
    (
        "recall_decision_kept",
        "DELETE FROM recall_decision",
        "A decision is never deleted",
    ),
    (
        "certificate_mark_final",
        "INSERT INTO certificate_mark (certificate_id, kind, reason, person_id, at) VALUES (1, 'stands', 'as good as new', 4, '')",
        "A withdrawn certificate stays withdrawn; the gauge is tested again",
    ),
    (
        "certificate_mark_unchanged",
        "UPDATE certificate_mark SET kind = 'stands'",
        "A mark on a certificate is never changed; add another",
    ),
    (
        "certificate_mark_kept",
        "DELETE FROM certificate_mark",
        "A mark on a certificate is never deleted",
    ),
    (
        "kit_kept",
        "DELETE FROM kit",
        "A kit is never deleted; its lots and gauges speak of it",
    ),
    (
        "lot_kept",
        "DELETE FROM lot",
        "A lot is used up or scrapped, never deleted",
    ),
    (
        "lot_unchanged",
        "UPDATE lot SET number = 'L-2'",
        "The number of a lot and the day it came are never changed",
    ),
    (
        "instrument_kept",
        "DELETE FROM instrument",
        "An instrument is retired, never deleted",
    ),
    (
        "calibration_unchanged",
        "UPDATE calibration SET reference = 'C-9'",
        "A calibration is evidence and is not changed; record another",
    ),
    (
        "calibration_relied_on",
        "UPDATE calibration SET taken_back_at = '2026-03-01T08:00:00.000Z', taken_back_by = 3, taken_back_why = 'wrong instrument'",
        "Something relied on this calibration; a recall decides what becomes of it",
    ),
    (
        "calibration_kept",
        "DELETE FROM calibration",
        "A calibration is never deleted",
    ),
    (
        "gauge_kept",
        "DELETE FROM gauge WHERE id = 1",
        "A gauge is retired, never deleted",
    ),
    (
        "rebuild_finished",
        "UPDATE rebuild SET note = 'x' WHERE id = 1",
        "A finished rebuild is evidence and is not changed",
    ),
    (
        "rebuild_kept",
        "DELETE FROM rebuild WHERE id = 2",
        "A rebuild is abandoned with a reason, never deleted",
    ),
    (
        "rebuild_day_open",
        "INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (2, '2026-03-01', '2026-03-08', 'no crane', 4, '')",
        "Only a rebuild that is not begun is given another day than it has",
    ),
    (
        "rebuild_day_unchanged",
        "UPDATE rebuild_day SET reason = 'x'",
        "What was said of another day is never changed; give another day again",
    ),
    (
        "rebuild_day_kept",
        "DELETE FROM rebuild_day",
        "What was said of another day is never deleted",
    ),
    (
        "rebuild_day_said",
        "UPDATE rebuild SET planned_for = '2026-03-09' WHERE id = 2",
        "A rebuild that is not begun is given another day with the reason",
    ),
    (
        "rebuild_reasoned",
        "UPDATE rebuild SET state = 'abandoned', ended_on = '2026-03-02' WHERE id = 2",
        "A rebuild is abandoned with a reason",
    ),
    (
        "rebuild_begun_with_reason",
        "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, ended_on) VALUES (1, 2, 'abandoned', 'leak', '2026-03-01', '', 4, '2026-03-02')",
        "A rebuild is abandoned with a reason",
    ),
    (
        "bench_entry_open",
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id) VALUES (1, 'remark', 1, '{}', '2026-03-01T08:00:00.000Z', 1)",
        "Nothing is added to a finished rebuild",
    ),
    (
        "bench_entry_unchanged",
        "UPDATE bench_entry SET facts = '[]' WHERE id = 2",
        "A bench entry is superseded, never changed",
    ),
    (
        "bench_entry_kept",
        "DELETE FROM bench_entry WHERE id = 2",
        "A bench entry is superseded, never deleted",
    ),
    (
        "bench_entry_own",
        "INSERT INTO bench_entry (rebuild_id, topic, facts, at, person_id, supersedes) VALUES (2, 'remark', '{}', '2026-03-01T09:00:00.000Z', 1, 1)",
        "A correction replaces an entry of the same step and rebuild",
    ),
    (
        "rebuild_proved",
        "UPDATE rebuild SET state = 'returned', ended_on = '2026-03-03' WHERE id = 2",
        "A gauge is returned after it has passed its pressure test",
    ),
    (
        "rebuild_move_open",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (1, 'on-test', 'at-the-bench', '', 1, 'leak', 'open', NULL, 0, 0)",
        "A finished rebuild is evidence and is not changed",
    ),
    (
        "rebuild_move_unchanged",
        "UPDATE rebuild_move SET reason = 'x'",
        "A step from state to state is never changed",
    ),
    (
        "rebuild_move_kept",
        "DELETE FROM rebuild_move",
        "A step from state to state is never deleted",
    ),
    (
        "stock_line_open",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, rebuild_id) VALUES (1, 'issue', -1, 5, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, 1)",
        "Nothing is issued to a finished rebuild",
    ),
    (
        "stock_line_balance",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'receipt', 1, 8, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, '')",
        "The balance of the lot moved meanwhile",
    ),
    (
        "stock_line_unchanged",
        "UPDATE stock_line SET quantity = 7",
        "A stock line is never changed",
    ),
    (
        "stock_line_kept",
        "DELETE FROM stock_line",
        "A stock line is never deleted",
    ),
    (
        "stock_line_placed",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'issue', -5, 1, '', '2026-01-10', 2, 'spare')",
        "So many do not lie at the lot's own place any more",
    ),
    (
        "lot_move_unchanged",
        "UPDATE lot_move SET quantity = 1",
        "A move is never changed; move the kits back",
    ),
    (
        "lot_move_kept",
        "DELETE FROM lot_move",
        "A move is never deleted",
    ),
    (
        "lot_move_once",
        "INSERT OR REPLACE INTO lot_move (id, lot_id, from_place, quantity, after_line, at, on_date, person_id) VALUES (1, 1, 'rack 9', 2, 3, '', '2026-01-10', 2)",
        "This move is in the ledger already",
    ),
    (
        "lot_move_in_turn",
        "INSERT INTO lot_move (lot_id, from_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 9', 1, 2, '', '2026-01-10', 2)",
        "The ledger moved meanwhile; try again",
    ),
    (
        "lot_move_placed",
        "INSERT INTO lot_move (lot_id, from_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 9', 3, 3, '', '2026-01-10', 2)",
        "So many do not lie there any more",
    ),
    (
        "witness_asked_unchanged",
        "UPDATE witness_asked SET person_id = 4",
        "Who was named as the witness is never changed; name another",
    ),
    (
        "witness_asked_kept",
        "DELETE FROM witness_asked",
        "Who was named as the witness is never forgotten",
    ),
    (
        "witness_asked_open",
        "INSERT INTO witness_asked (test_id, person_id, asked_by, at) VALUES (1, 4, 1, '')",
        "This test was witnessed already",
    ),
    (
        "witness_asked_another",
        "INSERT INTO witness_asked (test_id, person_id, asked_by, at) VALUES (2, 4, 1, '')",
        "The witness is neither the tester nor somebody who did not see the test",
    ),
    (
        "witness_declined_unchanged",
        "UPDATE witness_declined SET reason = 'none'",
        "That somebody did not see a test is never changed",
    ),
    (
        "witness_declined_kept",
        "DELETE FROM witness_declined",
        "That somebody did not see a test is never deleted",
    ),
    (
        "witness_declined_once",
        "INSERT INTO witness_declined (test_id, person_id, reason, at) VALUES (2, 4, 'was away', '')",
        "This test was witnessed, or the same was said of it, already",
    ),
    (
        "witnessing_seen",
        "INSERT INTO witnessing (test_id, person_id, at) VALUES (2, 4, '')",
        "Who said they did not see the test does not witness it",
    ),
    (
        "failure_unchanged",
        "UPDATE failure SET kind = 'other' WHERE id = 2",
        "A reported failure is answered by a rebuild, never changed",
    ),
    (
        "failure_kept",
        "DELETE FROM failure WHERE id = 2",
        "A reported failure is never deleted",
    ),
    (
        "look_over_unchanged",
        "UPDATE look_over SET found = 'watch'",
        "A look-over is never changed",
    ),
    (
        "look_over_kept",
        "DELETE FROM look_over",
        "A look-over is never deleted",
    ),
    (
        "deferral_unchanged",
        "UPDATE deferral SET until_on = '2026-12-02'",
        "A signed deferral is never changed",
    ),
    (
        "deferral_kept",
        "DELETE FROM deferral",
        "A signed deferral is never deleted",
    ),
    (
        "pressure_test_unchanged",
        "UPDATE pressure_test SET result = 'passed' WHERE id = 2",
        "A pressure test is evidence and is not changed",
    ),
    (
        "pressure_test_kept",
        "DELETE FROM pressure_test WHERE id = 2",
        "A pressure test is never deleted",
    ),
    (
        "witnessing_unchanged",
        "UPDATE witnessing SET person_id = 4",
        "A witnessing is never changed",
    ),
    (
        "witnessing_kept",
        "DELETE FROM witnessing",
        "A witnessing is never deleted",
    ),
    (
        "certificate_unchanged",
        "UPDATE certificate SET record = '[]'",
        "An issued certificate is never changed",
    ),
    (
        "certificate_kept",
        "DELETE FROM certificate",
        "An issued certificate is never deleted",
    ),
    (
        "pressure_test_in_turn",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-5', 2026, 4, 1, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "Pressure tests are numbered one after the other",
    ),
    (
        "pressure_test_once",
        "INSERT OR REPLACE INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-1', 2026, 3, 1, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "This test number was given meanwhile; try again",
    ),
    (
        "certificate_in_turn",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-3', 2026, 2, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "Certificates are numbered one after the other",
    ),
    (
        "certificate_once",
        "INSERT OR REPLACE INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-1', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "This certificate number was given meanwhile; try again",
    ),
    (
        "certificate_of_test_once",
        "INSERT OR REPLACE INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-2', 2026, 1, 1, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "A certificate was issued from this test already",
    ),
    (
        "certificate_replaces",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, supersedes) VALUES ('C-2', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000', 1)",
        "A correction replaces the certificate of the same test that stands",
    ),
    (
        "signing_key_unchanged",
        "UPDATE signing_key SET reason = 'other'",
        "A key that signed is never changed",
    ),
    (
        "signing_key_kept",
        "DELETE FROM signing_key",
        "A key that signed is never deleted; old signatures are checked with it",
    ),
    (
        "signing_key_once",
        "INSERT OR REPLACE INTO signing_key (id, fingerprint, public_key, made_at, reason) VALUES (1, '1111111111111111', '0000000000000000000000000000000000000000000000000000000000000000', '2025-01-01T08:00:00.000Z', 'other')",
        "This key is known already",
    ),
    (
        "certificate_paper_unchanged",
        "UPDATE certificate_paper SET paper = 'letter'",
        "A paper that was handed out is never changed",
    ),
    (
        "certificate_paper_kept",
        "DELETE FROM certificate_paper",
        "A paper that was handed out is never forgotten",
    ),
    (
        "certificate_paper_once",
        "INSERT OR REPLACE INTO certificate_paper (id, certificate_id, paper, sha256, at) VALUES (1, 1, 'letter', '1111111111111111111111111111111111111111111111111111111111111111', '2025-03-02T11:00:00.000Z')",
        "This paper was handed out before",
    ),
    (
        "test_rule_kept",
        "DELETE FROM test_rule",
        "What was chosen for tests is never deleted; leave its fields empty",
    ),
    (
        "planned_test_kept",
        "DELETE FROM planned_test",
        "A planned test is never deleted; drop it with a reason",
    ),
    (
        "planned_test_ended",
        "UPDATE planned_test SET note = 'later' WHERE id = 1",
        "This planned test has ended and is not changed",
    ),
    (
        "gas_request_unchanged",
        "UPDATE gas_request SET reason = 'because it is so'",
        "A request for a gas test is never changed; ask anew",
    ),
    (
        "gas_request_kept",
        "DELETE FROM gas_request",
        "A request for a gas test is never deleted",
    ),
    (
        "gas_request_once",
        "INSERT OR REPLACE INTO gas_request (id, gauge_id, facts, reason, person_id, at) VALUES (1, 1, '{}', 'no liquid may come in', 1, '2026-01-01T08:00:00.000Z')",
        "This request was made meanwhile; try again",
    ),
    (
        "gas_answer_unchanged",
        "UPDATE gas_answer SET words = 'go on'",
        "An answer is never changed; ask anew",
    ),
    (
        "gas_answer_kept",
        "DELETE FROM gas_answer",
        "An answer is never deleted",
    ),
    (
        "gas_answer_once",
        "INSERT OR REPLACE INTO gas_answer (request_id, approved, words, person_id, at) VALUES (1, 0, 'no, no', 3, '2026-01-01T09:00:00.000Z')",
        "This request was answered already",
    ),
    (
        "gas_answer_by_another",
        "INSERT INTO gas_answer (request_id, approved, words, person_id, at) VALUES (2, 0, 'no, no', 1, '2026-01-01T09:00:00.000Z')",
        "The second approval is another person than the one who asked",
    ),
    (
        "certificate_of_a_proof",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-2', 2026, 1, 2, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "Only a test that was passed and witnessed is certified",
    ),
    (
        "witnessing_once",
        "INSERT OR REPLACE INTO witnessing (test_id, person_id, at) VALUES (1, 4, '2026-03-02T10:00:00.000Z')",
        "This test was witnessed already",
    ),
    (
        "witnessing_by_another",
        "INSERT INTO witnessing (test_id, person_id, at) VALUES (2, 1, '2026-03-02T10:00:00.000Z')",
        "The witness is another person than the tester",
    ),
    (
        "instrument_use_unchanged",
        "UPDATE instrument_use SET used_on = '2026-03-02'",
        "The use of an instrument is never changed",
    ),
    (
        "instrument_use_kept",
        "DELETE FROM instrument_use",
        "The use of an instrument is never deleted",
    ),
    (
        "audit_unchanged",
        "UPDATE audit SET who = 'nobody' WHERE id = 1",
        "An audit line is never changed",
    ),
    (
        "audit_kept",
        "DELETE FROM audit WHERE id = 1",
        "An audit line is never deleted",
    ),
    (
        "nameplate_photo_unchanged",
        "UPDATE nameplate_photo SET jpeg = x'00'",
        "A photograph of a nameplate is evidence and is not changed",
    ),
    (
        "nameplate_photo_kept",
        "DELETE FROM nameplate_photo",
        "A photograph of a nameplate is never deleted",
    ),
    (
        "order_kept",
        "DELETE FROM kit_order WHERE id = 3",
        "An order is withdrawn with a reason, never deleted",
    ),
    (
        "order_closed",
        "UPDATE kit_order SET note = 'x' WHERE id = 2",
        "An order that is closed is not changed",
    ),
    (
        "order_line_kept",
        "DELETE FROM kit_order_line WHERE id = 1",
        "A line of an order that was placed is withdrawn, never deleted",
    ),
    (
        "order_line_of_a_draft",
        "INSERT INTO kit_order_line (order_id, kit_id, quantity) VALUES (1, 2, 2)",
        "A line is added to a draft only",
    ),
    (
        "order_line_unchanged",
        "UPDATE kit_order_line SET quantity = 9 WHERE id = 1",
        "A line of an order that was placed is not changed",
    ),
    (
        "order_line_closed",
        "UPDATE kit_order SET state = 'received', closed_on = '2026-03-01' WHERE id = 1; UPDATE kit_order_line SET awaited = 2 WHERE id = 1",
        "An order that is closed is not changed",
    ),
    (
        "order_receipt_unchanged",
        "UPDATE order_receipt SET quantity = 2",
        "What came of an order is evidence and is not changed",
    ),
    (
        "order_receipt_kept",
        "DELETE FROM order_receipt",
        "What came of an order is never deleted",
    ),
    (
        "class_cost_unchanged",
        "UPDATE class_cost SET planned = '1'",
        "Costs are stated anew, never changed",
    ),
    (
        "class_cost_kept",
        "DELETE FROM class_cost",
        "Costs that were stated stay readable",
    ),
    (
        "lot_document_unchanged",
        "UPDATE lot_document SET title = 'y'",
        "A paper of a lot is evidence and is not changed",
    ),
    (
        "lot_document_kept",
        "DELETE FROM lot_document",
        "A paper of a lot is never deleted",
    ),
    (
        "calibration_document_unchanged",
        "UPDATE calibration_document SET title = 'y'",
        "A paper of a calibration is evidence and is not changed",
    ),
    (
        "calibration_document_kept",
        "DELETE FROM calibration_document",
        "A paper of a calibration is never deleted",
    ),
    (
        "deferral_request_unchanged",
        "UPDATE deferral_request SET decision_note = 'y' WHERE id = 1",
        "A deferral that was asked for is decided, never changed",
    ),
    (
        "deferral_request_kept",
        "DELETE FROM deferral_request",
        "A deferral that was asked for is never deleted",
    ),
];

/// Named CHECKs.
pub const CHECKS: &[(&str, &str, &str)] = &[
    (
        "hold_temperature_pair",
        "INSERT INTO hold_reading (hold_id, at, pressure_value, pressure_unit, temperature_value, person_id) VALUES (1, '', '1', 'bar', '20', 1)",
        "A temperature is a number and its unit",
    ),
    (
        "recall_since",
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (1, NULL, 'then', '2026-03-01', 'found', 4, '')",
        "Write the last day it was known to be good as 31 Dec 2026",
    ),
    (
        "recall_until",
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (1, NULL, NULL, 'now', 'found', 4, '')",
        "Write the day it was found as 31 Dec 2026",
    ),
    (
        "recall_reason",
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (1, NULL, NULL, '2026-03-01', ' ', 4, '')",
        "Say what was found, in 3 to 2000 characters",
    ),
    (
        "recall_of_one",
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (1, 1, NULL, '2026-03-01', 'found', 4, '')",
        "A recall is of one instrument or of one lot",
    ),
    (
        "recall_order",
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (1, NULL, '2026-03-02', '2026-03-01', 'found', 4, '')",
        "It was known to be good before it was found bad",
    ),
    (
        "decision_word",
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at) VALUES (1, 1, NULL, 1, 'maybe', 'why', '2026-03-01', 4, '')",
        "Choose whether it stands",
    ),
    (
        "decision_reason",
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at) VALUES (1, 1, NULL, 1, 'stands', '', '2026-03-01', 4, '')",
        "Say why, in 3 to 2000 characters",
    ),
    (
        "decision_on",
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at) VALUES (1, 1, NULL, 1, 'stands', 'why', 'now', 4, '')",
        "A decision is made on a day",
    ),
    (
        "decision_about",
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at) VALUES (1, 1, 1, 1, 'stands', 'why', '2026-03-01', 4, '')",
        "A decision is about one rebuild or one test",
    ),
    (
        "decision_gauge",
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at) VALUES (1, 1, NULL, NULL, 'stands', 'why', '2026-03-01', 4, '')",
        "A decision about a rebuild or a test names its gauge",
    ),
    (
        "mark_kind",
        "INSERT INTO certificate_mark (certificate_id, kind, reason, person_id, at) VALUES (2, 'fine', 'why', 4, '')",
        "A certificate is questioned, stands or is withdrawn",
    ),
    (
        "mark_reason",
        "INSERT INTO certificate_mark (certificate_id, kind, reason, person_id, at) VALUES (2, 'stands', '', 4, '')",
        "Say why, in 3 to 2000 characters",
    ),
    (
        "move_from",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'returned', 'at-the-bench', '', 1, 'x', NULL, NULL, 0, 0)",
        "A rebuild moves from a state that is open",
    ),
    (
        "move_to",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'planned', 'lost', '', 1, 'x', NULL, NULL, 0, 0)",
        "A rebuild moves to one of its states",
    ),
    (
        "move_rework",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'on-test', 'at-the-bench', '', 1, 'x', 'paint', NULL, 0, 0)",
        "Choose one: what has to be done again",
    ),
    (
        "move_section",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'on-test', 'at-the-bench', '', 1, 'x', 'open', 13, 0, 0)",
        "A gauge has sections 1 to 12",
    ),
    (
        "move_after_entry",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'planned', 'ready', '', 1, '', NULL, NULL, -1, 0)",
        "A move comes after so many bench entries, none at least",
    ),
    (
        "move_after_test",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'planned', 'ready', '', 1, '', NULL, NULL, 0, -1)",
        "A move comes after so many pressure tests, none at least",
    ),
    (
        "move_reasoned",
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test) VALUES (2, 'on-test', 'at-the-bench', '', 1, ' ', 'open', NULL, 0, 0)",
        "Say why in a few words",
    ),
    (
        "need_date",
        "INSERT INTO kit_need (gauge_id, kit_id, on_date, kits) VALUES (1, 1, 'soon', 1)",
        "The day kits are wanted is a date",
    ),
    (
        "need_kits",
        "INSERT INTO kit_need (gauge_id, kit_id, on_date, kits) VALUES (1, 1, '2026-05-01', 0)",
        "A rebuild wants at least one kit",
    ),
    (
        "need_day_kits",
        "INSERT INTO kit_need_day (kit_id, on_date, kits) VALUES (1, '2026-05-01', -1)",
        "Kits wanted on a day cannot be counted below none",
    ),
    (
        "one_form_secret",
        "UPDATE form_secret SET id = 2",
        "A register has one secret for the keys of its forms",
    ),
    (
        "form_secret_length",
        "UPDATE form_secret SET secret = x'00'",
        "The secret of the forms has 32 bytes",
    ),
    (
        "attempt_sign_in",
        "INSERT INTO sign_in_attempt (sign_in, asked, at) VALUES (hex(zeroblob(40)), 'at-the-door', '')",
        "A sign-in name has 2 to 60 characters",
    ),
    (
        "attempt_asked",
        "INSERT INTO sign_in_attempt (sign_in, asked, at) VALUES ('mara', 'by letter', '')",
        "A password is asked for at the door or of somebody signed in",
    ),
    (
        "one_plant",
        "UPDATE plant SET id = 2",
        "A register holds one plant",
    ),
    (
        "plant_name",
        "UPDATE plant SET name = ' '",
        "The plant\u{2019}s name has 1 to 120 characters",
    ),
    (
        "plant_code",
        "UPDATE plant SET test_code = 'house rule'",
        "Choose one: the code of reference",
    ),
    (
        "plant_hold",
        "UPDATE plant SET hold_minutes = 4",
        "The hold is 5 to 1440 minutes",
    ),
    (
        "plant_skims",
        "UPDATE plant SET skim_limit = 10",
        "A chamber is skimmed 0 to 9 times",
    ),
    (
        "plant_ground",
        "UPDATE plant SET ground = ' '",
        "A ground has 1 to 400 characters",
    ),
    (
        "plant_settled_on",
        "UPDATE plant SET settled_on = 'today'",
        "The day the settings were chosen is a date",
    ),
    (
        "plant_prefix",
        "UPDATE plant SET number_prefix = ''",
        "Numbers begin with 1 to 8 characters",
    ),
    (
        "plant_demo",
        "UPDATE plant SET demo = 2",
        "A plant is invented or it is not",
    ),
    (
        "person_sign_in",
        "UPDATE person SET sign_in = 'x' WHERE id = 1",
        "A sign-in name has 2 to 60 characters",
    ),
    (
        "person_name",
        "UPDATE person SET name = '' WHERE id = 1",
        "A name has 1 to 120 characters",
    ),
    (
        "person_role",
        "UPDATE person SET role = 'owner' WHERE id = 1",
        "Choose one: the role",
    ),
    (
        "person_reads",
        "UPDATE person SET reads = 'cubits' WHERE id = 1",
        "Choose one: how you read figures",
    ),
    (
        "address_purpose",
        "INSERT INTO one_time_address (token_hash, purpose, made_at, expires_at) VALUES (x'00', 'fun', '', '')",
        "A one-time address is for a first administrator or for a password",
    ),
    (
        "area_name",
        "UPDATE area SET name = ' ' WHERE id = 1",
        "An area\u{2019}s name has 1 to 60 characters",
    ),
    (
        "class_name",
        "UPDATE service_class SET name = '' WHERE id = 1",
        "A service class\u{2019}s name has 1 to 60 characters",
    ),
    (
        "class_rebuild",
        "UPDATE service_class SET rebuild_months = 0 WHERE id = 1",
        "A rebuild interval is 1 to 240 months",
    ),
    (
        "class_look_over",
        "UPDATE service_class SET look_over_months = 121 WHERE id = 1",
        "A look-over interval is 1 to 120 months",
    ),
    (
        "kit_number",
        "UPDATE kit SET number = ''",
        "A kit number has 1 to 40 characters",
    ),
    (
        "kit_name",
        "UPDATE kit SET name = ' '",
        "A kit\u{2019}s name has 1 to 120 characters",
    ),
    (
        "kit_kind",
        "UPDATE kit SET kind = 'magnetic'",
        "A kit is for reflex or transparent gauges",
    ),
    (
        "kit_length",
        "UPDATE kit SET glass_length_mm = 49",
        "A glass is 50 to 1000 mm long",
    ),
    (
        "kit_shelf_life",
        "UPDATE kit SET shelf_life_months = 0",
        "A shelf life is 1 to 240 months",
    ),
    (
        "kit_lead",
        "UPDATE kit SET lead_days = -1",
        "A lead time is 0 to 1000 days",
    ),
    (
        "kit_pack",
        "UPDATE kit SET pack = 0",
        "Kits come in packs of 1 to 1000",
    ),
    (
        "kit_minimum",
        "UPDATE kit SET minimum = 0",
        "A least order is 1 to 10000",
    ),
    (
        "lot_number",
        "INSERT INTO lot (kit_id, number, received_on) VALUES (1, '', '2025-01-10')",
        "A lot number has 1 to 40 characters",
    ),
    (
        "lot_received",
        "INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'L-2', '10 Jan 2025')",
        "Write the day of receipt as 31 Dec 2026",
    ),
    (
        "lot_expires",
        "UPDATE lot SET expires_on = 'never'",
        "Write the last day of use as 31 Dec 2026",
    ),
    (
        "instrument_number",
        "UPDATE instrument SET number = ''",
        "An instrument number has 1 to 40 characters",
    ),
    (
        "instrument_kind",
        "UPDATE instrument SET kind = 'hammer'",
        "Choose one: what the instrument is",
    ),
    (
        "instrument_cycles",
        "UPDATE instrument SET cycle_limit = 0",
        "Only the loadings of a torque wrench are counted, 1 to 1000000 of them",
    ),
    (
        "calibration_uncertainty",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at, uncertainty) VALUES (1, '2025-01-01', '2026-01-01', 'C-2', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z', '0.1')",
        "An uncertainty has its unit and its coverage factor",
    ),
    (
        "calibration_on",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at) VALUES (1, '1 Jan', '2026-01-01', 'C-2', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z')",
        "Write the day of the calibration as 31 Dec 2026",
    ),
    (
        "calibration_due",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at) VALUES (1, '2026-01-01', '2026-01-01', 'C-2', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z')",
        "A calibration covers days after the one it was done on",
    ),
    (
        "calibration_reference",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at) VALUES (1, '2025-01-01', '2026-01-01', ' ', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z')",
        "A calibration\u{2019}s reference has 1 to 80 characters",
    ),
    (
        "calibration_found",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at) VALUES (1, '2025-01-01', '2026-01-01', 'C-2', 'fine', 3, '2025-01-02T08:00:00.000Z')",
        "Choose one: what the calibration found",
    ),
    (
        "gauge_tag",
        "UPDATE gauge SET tag = 'x' WHERE id = 1",
        "A tag number has 2 to 40 characters",
    ),
    (
        "gauge_standing",
        "UPDATE gauge SET standing = 'sold' WHERE id = 1",
        "A gauge is in service, resting or retired",
    ),
    (
        "gauge_kind",
        "UPDATE gauge SET kind = 'magnetic' WHERE id = 1",
        "A gauge is reflex or transparent",
    ),
    (
        "gauge_sections",
        "UPDATE gauge SET sections = 13 WHERE id = 1",
        "A gauge has 1 to 12 sections",
    ),
    (
        "gauge_bolts",
        "UPDATE gauge SET bolts_per_rail = 0 WHERE id = 1",
        "A section has 1 to 12 bolts on each rail",
    ),
    (
        "gauge_bolt_form",
        "UPDATE gauge SET bolt_form = 'rivets' WHERE id = 1",
        "Covers are held by bolts, studs or U-bolts",
    ),
    (
        "gauge_length",
        "UPDATE gauge SET glass_length_mm = 1001 WHERE id = 1",
        "A glass is 50 to 1000 mm long",
    ),
    (
        "gauge_isolation",
        "UPDATE gauge SET isolation = 'never' WHERE id = 1",
        "Choose one: when the gauge can be worked on",
    ),
    (
        "gauge_installed",
        "UPDATE gauge SET installed_on = '2025' WHERE id = 1",
        "Write the day of installation as 31 Dec 2026",
    ),
    (
        "gauge_kits",
        "UPDATE gauge SET kits_per_rebuild = 49 WHERE id = 1",
        "A rebuild takes 1 to 48 kits",
    ),
    (
        "gauge_rating_pair",
        "UPDATE gauge SET rating_value = '1000' WHERE id = 1",
        "A rating is a number and its unit",
    ),
    (
        "gauge_temperature_pair",
        "UPDATE gauge SET rating_temperature_unit = 'Cel' WHERE id = 1",
        "A temperature is a number and its unit",
    ),
    (
        "gauge_torque_pair",
        "UPDATE gauge SET torque_value = '32' WHERE id = 1",
        "A torque is a number and its unit",
    ),
    (
        "gauge_rating_unreadable",
        "UPDATE gauge SET rating_value = '1000', rating_unit = '[psi]', rating_unreadable = 1 WHERE id = 1",
        "Either the rating is written here, or it is not readable",
    ),
    (
        "gauge_torque_unreadable",
        "UPDATE gauge SET torque_value = '32', torque_unit = '[ft_i].[lbf_av]', torque_unreadable = 1 WHERE id = 1",
        "Either the torque is written here, or it is not readable",
    ),
    (
        "gauge_assumed",
        "UPDATE gauge SET assumed = '[]' WHERE id = 1",
        "What was assumed of a gauge is named field by field",
    ),
    (
        "window_name",
        "UPDATE shutdown_window SET name = ' '",
        "A window\u{2019}s name has 1 to 80 characters",
    ),
    (
        "window_starts",
        "UPDATE shutdown_window SET starts_on = 'May'",
        "Write the first day as 31 Dec 2026",
    ),
    (
        "window_ends",
        "UPDATE shutdown_window SET ends_on = 'May'",
        "Write the last day as 31 Dec 2026",
    ),
    (
        "window_order",
        "UPDATE shutdown_window SET ends_on = '2026-05-03'",
        "A window ends on or after its first day",
    ),
    (
        "rebuild_ordinal",
        "UPDATE rebuild SET ordinal = 0 WHERE id = 2",
        "Rebuilds are counted from 1",
    ),
    (
        "rebuild_state",
        "UPDATE rebuild SET state = 'lost' WHERE id = 2",
        "A rebuild has no such state",
    ),
    (
        "rebuild_cause",
        "UPDATE rebuild SET cause = 'whim' WHERE id = 2",
        "Choose one: the cause of the rebuild",
    ),
    (
        "rebuild_day_for",
        "UPDATE rebuild SET state = 'planned' WHERE id = 2;
         INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (2, '2026-03-01', 'soon', 'no crane', 4, '')",
        "Write the other day as 31 Dec 2026",
    ),
    (
        "rebuild_day_reason",
        "UPDATE rebuild SET state = 'planned' WHERE id = 2;
         INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (2, '2026-03-01', '2026-03-08', ' ', 4, '')",
        "Say why it is given another day, in at most 400 characters",
    ),
    (
        "rebuild_day_another",
        "UPDATE rebuild SET state = 'planned' WHERE id = 2;
         INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (2, '2026-03-01', '2026-03-01', 'no crane', 4, '')",
        "It is planned for that day already",
    ),
    (
        "rebuild_planned_for",
        "UPDATE rebuild SET planned_for = 'soon' WHERE id = 2",
        "Write the planned day as 31 Dec 2026",
    ),
    (
        "class_re_torque",
        "UPDATE service_class SET re_torque_days = 0 WHERE id = 1",
        "Bolting is tightened again within 1 to 365 days",
    ),
    (
        "class_flush",
        "UPDATE service_class SET flush = 2 WHERE id = 1",
        "Contents are flushed or they are not",
    ),
    (
        "rebuild_re_torque",
        "UPDATE rebuild SET re_torque_due_on = 'soon' WHERE id = 2",
        "A re-torque is due on a day such as 31 Dec 2026",
    ),
    (
        "re_torque_on",
        "INSERT INTO re_torque (gauge_id, rebuild_id, on_date, facts, person_id, at) VALUES (1, 1, 'soon', '{}', 1, '')",
        "Write the date as 31 Dec 2026",
    ),
    (
        "re_torque_facts",
        "INSERT INTO re_torque (gauge_id, rebuild_id, on_date, facts, person_id, at) VALUES (1, 1, '2025-03-10', 'tight', 1, '')",
        "A re-torque holds its facts",
    ),
    (
        "bench_photo_section",
        "INSERT INTO bench_photo (rebuild_id, section, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (2, 13, '', 1, 1, 1, x'00', x'ff', x'ff')",
        "A gauge has sections 1 to 12",
    ),
    (
        "bench_photo_caption",
        "INSERT INTO bench_photo (rebuild_id, caption, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (2, printf('%201s', 'x'), '', 1, 1, 1, x'00', x'ff', x'ff')",
        "Words under a photograph have at most 200 characters",
    ),
    (
        "hand_over_note",
        "INSERT INTO hand_over (rebuild_id, person_id, to_id, note, at) VALUES (2, 1, 4, '', '')",
        "Say what the other has to know, in 3 to 2000 characters",
    ),
    (
        "hand_over_to_another",
        "INSERT INTO hand_over (rebuild_id, person_id, to_id, note, at) VALUES (2, 1, 1, 'locks hang', '')",
        "Choose somebody else than yourself",
    ),
    (
        "rebuild_ended",
        "UPDATE rebuild SET state = 'abandoned', abandoned_reason = 'kit late', ended_on = 'soon' WHERE id = 2",
        "Write the day it ended as 31 Dec 2026",
    ),
    (
        "rebuild_end",
        "UPDATE rebuild SET state = 'abandoned', abandoned_reason = 'kit late' WHERE id = 2",
        "A finished rebuild has a last day, an open one has none",
    ),
    (
        "rebuild_reason",
        "UPDATE rebuild SET state = 'abandoned', ended_on = '2026-03-02', abandoned_reason = ' ' WHERE id = 2",
        "Say why the rebuild is abandoned",
    ),
    (
        "entry_topic",
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id) VALUES (2, 'tea', 1, '{}', '2026-03-01T08:00:00.000Z', 1)",
        "There is no such step of a rebuild",
    ),
    (
        "entry_section",
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id) VALUES (2, 'face', 13, '{}', '2026-03-01T08:00:00.000Z', 1)",
        "A gauge has 1 to 12 sections",
    ),
    (
        "entry_facts",
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id) VALUES (2, 'face', 1, '{', '2026-03-01T08:00:00.000Z', 1)",
        "A bench entry could not be kept as it was",
    ),
    (
        "line_kind",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'gift', 1, 7, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, '')",
        "There is no such movement of stock",
    ),
    (
        "line_balance",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'issue', -7, -1, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, 'spare')",
        "The lot does not hold that many any more",
    ),
    (
        "line_date",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'receipt', 1, 7, '2026-01-10T08:00:00.000Z', 'today', 2, '')",
        "Write the day of the movement as 31 Dec 2026",
    ),
    (
        "line_sign",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'receipt', -1, 5, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, '')",
        "Receipts and returns add, issues and scrap take away",
    ),
    (
        "line_issue",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'issue', -1, 5, '2026-01-10T08:00:00.000Z', '2026-01-10', 2, '')",
        "Say what the kits are issued for",
    ),
    (
        "line_place",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason, place) VALUES (1, 'receipt', 1, 7, '', '2026-01-10', 2, '', ' ')",
        "A place has 1 to 60 characters",
    ),
    (
        "lot_move_from",
        "INSERT INTO lot_move (lot_id, from_place, quantity, after_line, at, on_date, person_id) VALUES (1, ' ', 1, 3, '', '2026-01-10', 2)",
        "A place has 1 to 60 characters",
    ),
    (
        "lot_move_to",
        "INSERT INTO lot_move (lot_id, to_place, quantity, after_line, at, on_date, person_id) VALUES (1, ' ', 1, 3, '', '2026-01-10', 2)",
        "A place has 1 to 60 characters",
    ),
    (
        "lot_move_quantity",
        "INSERT INTO lot_move (lot_id, to_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 8', 0, 3, '', '2026-01-10', 2)",
        "Write how many are moved",
    ),
    (
        "lot_move_date",
        "INSERT INTO lot_move (lot_id, to_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 8', 1, 3, '', 'today', 2)",
        "Write the day of the move as 31 Dec 2026",
    ),
    (
        "lot_move_apart",
        "INSERT INTO lot_move (lot_id, from_place, to_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 9', 'rack 9', 1, 3, '', '2026-01-10', 2)",
        "They lie there already; write another place",
    ),
    (
        "elsewhere_kits",
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason, place) VALUES (1, 'issue', -3, 3, '', '2026-01-10', 2, 'spare', 'rack 9')",
        "So many do not lie there any more",
    ),
    (
        "declined_reason",
        "INSERT INTO witness_declined (test_id, person_id, reason, at) VALUES (2, 3, ' ', '')",
        "Say why in 3 to 500 characters",
    ),
    (
        "paper_marked",
        "INSERT INTO certificate_paper (certificate_id, paper, sha256, at, marked) VALUES (1, 'a4', '1111111111111111111111111111111111111111111111111111111111111111', '', 'old')",
        "A copy is marked as withdrawn, superseded or questioned",
    ),
    (
        "failure_seen",
        "INSERT INTO failure (gauge_id, seen_on, kind, person_id, at) VALUES (1, 'today', 'leak', 1, '2026-02-27T08:00:00.000Z')",
        "Write the day it was seen as 31 Dec 2026",
    ),
    (
        "calibration_taken_back",
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at, taken_back_why) VALUES (1, '2025-01-01', '2026-01-01', 'C-2', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z', 'x')",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    (
        "look_over_taken_back",
        "UPDATE look_over SET taken_back_at = '2026-03-01T08:00:00.000Z', taken_back_by = 1, taken_back_why = 'x'",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    (
        "failure_taken_back",
        "UPDATE failure SET taken_back_at = '2026-03-01T08:00:00.000Z', taken_back_by = 1, taken_back_why = 'x' WHERE id = 2",
        "Say what the mistake was, in 3 to 2000 characters",
    ),
    (
        "mark_on",
        "INSERT INTO certificate_mark (certificate_id, kind, reason, person_id, at, on_date) VALUES (2, 'stands', 'why', 4, '', 'today')",
        "A mark on a certificate stands on a day such as 31 Dec 2026",
    ),
    (
        "deferral_moves",
        "INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at, moves) VALUES (1, '2026-12-01', '2026-12-01', 'kit late', 4, '2026-02-27T08:00:00.000Z', 'both')",
        "A deferral moves the rebuild or the look-over",
    ),
    (
        "request_moves",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at, moves)
           VALUES (1, '2026-12-01', '2026-12-01', 'kit late', 'weeps', 'looked at', 4, '2026-02-27T08:00:00.000Z', 'both')",
        "A deferral moves the rebuild or the look-over",
    ),
    (
        "class_defer",
        "UPDATE service_class SET defer_months = 61 WHERE id = 1",
        "A deferral goes 1 to 60 months past its date",
    ),
    (
        "gauge_papers_rebuilt",
        "UPDATE gauge SET papers_rebuilt_on = 'last year' WHERE id = 1",
        "Write the day of the last rebuild as 31 Dec 2026",
    ),
    (
        "gauge_papers_looked",
        "UPDATE gauge SET papers_looked_on = 'last year' WHERE id = 1",
        "Write the day of the last look-over as 31 Dec 2026",
    ),
    (
        "failure_kind",
        "INSERT INTO failure (gauge_id, seen_on, kind, person_id, at) VALUES (1, '2026-02-27', 'ghost', 1, '2026-02-27T08:00:00.000Z')",
        "Choose one: what went wrong",
    ),
    (
        "look_over_on",
        "INSERT INTO look_over (gauge_id, on_date, found, person_id, at) VALUES (1, 'today', 'sound', 1, '2026-02-27T08:00:00.000Z')",
        "Write the day of the look-over as 31 Dec 2026",
    ),
    (
        "look_over_found",
        "INSERT INTO look_over (gauge_id, on_date, found, person_id, at) VALUES (1, '2026-02-27', 'pretty', 1, '2026-02-27T08:00:00.000Z')",
        "Choose one: what the look-over found",
    ),
    (
        "deferral_until",
        "INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at) VALUES (1, 'later', 'later', 'kit late', 4, '2026-02-27T08:00:00.000Z')",
        "Write the later date as 31 Dec 2026",
    ),
    (
        "deferral_limit",
        "INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at) VALUES (1, '2026-12-01', '2026-11-30', 'kit late', 4, '2026-02-27T08:00:00.000Z')",
        "The date no deferral passes is not before the deferral",
    ),
    (
        "deferral_reason",
        "INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at) VALUES (1, '2026-12-01', '2026-12-01', '  x ', 4, '2026-02-27T08:00:00.000Z')",
        "A reason has 3 to 2000 characters",
    ),
    (
        "test_number",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('', 2026, 3, 1, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "A test number has 1 to 40 characters",
    ),
    (
        "test_on",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-4', 2026, 3, 1, 'today', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "Write the day of the test as 31 Dec 2026",
    ),
    (
        "test_result",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-4', 2026, 3, 1, '2026-03-02', 'nearly', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "A test is passed or failed",
    ),
    (
        "test_facts",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-4', 2026, 3, 1, '2026-03-02', 'passed', 'none', 1, 1, '2026-03-02T08:00:00.000Z')",
        "A pressure test could not be kept as it was",
    ),
    (
        "certificate_number",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "A certificate number has 1 to 40 characters",
    ),
    (
        "certificate_record",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-2', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', 'none', '0000000000000000000000000000000000000000000000000000000000000000')",
        "A certificate could not be kept as it was",
    ),
    (
        "certificate_hash",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-2', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '00')",
        "A certificate carries the mark of its record",
    ),
    (
        "certificate_signature",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, key_id, signature) VALUES ('C-2', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000', 1, '00')",
        "A signature has 128 digits",
    ),
    (
        "certificate_signed",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, key_id) VALUES ('C-2', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000', 1)",
        "A signature names its key",
    ),
    (
        "key_fingerprint",
        "INSERT INTO signing_key (fingerprint, public_key, made_at, reason) VALUES ('1', '0000000000000000000000000000000000000000000000000000000000000000', '2026-01-01T08:00:00.000Z', 'other')",
        "A key is named by 16 digits",
    ),
    (
        "key_public",
        "INSERT INTO signing_key (fingerprint, public_key, made_at, reason) VALUES ('1111111111111111', '1', '2026-01-01T08:00:00.000Z', 'other')",
        "A public key has 64 digits",
    ),
    (
        "key_reason",
        "INSERT INTO signing_key (fingerprint, public_key, made_at, reason) VALUES ('1111111111111111', '0000000000000000000000000000000000000000000000000000000000000000', '2026-01-01T08:00:00.000Z', '')",
        "Say why in 3 to 400 characters",
    ),
    (
        "paper_size",
        "INSERT INTO certificate_paper (certificate_id, paper, sha256, at) VALUES (1, 'a3', '1111111111111111111111111111111111111111111111111111111111111111', '2026-01-01T08:00:00.000Z')",
        "A paper is A4 or Letter",
    ),
    (
        "paper_hash",
        "INSERT INTO certificate_paper (certificate_id, paper, sha256, at) VALUES (1, 'a4', '1', '2026-01-01T08:00:00.000Z')",
        "A paper carries its hash",
    ),
    (
        "rule_code",
        "UPDATE test_rule SET code = 'mine'",
        "Choose the code of reference",
    ),
    (
        "rule_hold",
        "UPDATE test_rule SET hold_minutes = 2",
        "A hold lasts 5 to 1440 minutes",
    ),
    (
        "rule_guard",
        "UPDATE test_rule SET guard = 'dog'",
        "Choose the guard band",
    ),
    (
        "hold_code",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, code) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, 'mine')",
        "A hold keeps the code of reference it began with",
    ),
    (
        "hold_shortest",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, hold_minutes) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, 2)",
        "A hold keeps its shortest time, 5 to 1440 minutes",
    ),
    (
        "hold_guard",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, guard) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, 'dog')",
        "A hold keeps the guard band it began with",
    ),
    (
        "hold_choices",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, choices) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, 'none')",
        "What a hold began with could not be kept as it was",
    ),
    (
        "hold_units",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, rating_value, rating_unit, code, hold_minutes, choices, drop_value) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, '1000', '[psi]', 'ped', 5, '[]', '1')",
        "What a hold began with has its units",
    ),
    (
        "hold_whole",
        "UPDATE rebuild SET state = 'on-test' WHERE id = 2;
         INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, rating_value, rating_unit, code, hold_minutes) VALUES (2, 1, 'water', '2026-03-02T08:10:00.000Z', 1, '1000', '[psi]', 'ped', 5)",
        "A hold keeps all it began with, or none of it",
    ),
    (
        "rule_paper",
        "UPDATE test_rule SET paper = 'a3'",
        "Choose A4 or Letter",
    ),
    (
        "rule_ground",
        "UPDATE test_rule SET ground = ''",
        "Say on what ground, in 3 to 400 characters",
    ),
    (
        "rule_of_one",
        "UPDATE test_rule SET gauge_id = 1, service_class_id = 1",
        "A choice is of a class or of a gauge, not of both",
    ),
    (
        "rule_units",
        "UPDATE test_rule SET drop_value = '1'",
        "A pressure has a unit",
    ),
    (
        "planned_test_day",
        "UPDATE planned_test SET planned_for = 'soon' WHERE id = 2",
        "A test is planned for a day",
    ),
    (
        "planned_test_witnessed",
        "UPDATE planned_test SET witnessed = 2 WHERE id = 2",
        "A test is witnessed or not",
    ),
    (
        "planned_test_dropped",
        "UPDATE planned_test SET dropped = '' WHERE id = 2",
        "Say why in 3 to 400 characters",
    ),
    (
        "planned_test_end",
        "UPDATE planned_test SET dropped = 'not needed', test_id = 1 WHERE id = 2",
        "A planned test is made or dropped, not both",
    ),
    (
        "gas_facts",
        "INSERT INTO gas_request (gauge_id, facts, reason, person_id, at) VALUES (1, 'none', 'no liquid may come in', 1, '2026-01-01T08:00:00.000Z')",
        "A request could not be kept as it was",
    ),
    (
        "gas_reason",
        "INSERT INTO gas_request (gauge_id, facts, reason, person_id, at) VALUES (1, '{}', 'no', 1, '2026-01-01T08:00:00.000Z')",
        "Say why no liquid can be used",
    ),
    (
        "gas_approved",
        "INSERT INTO gas_answer (request_id, approved, words, person_id, at) VALUES (2, 3, 'well, no', 3, '2026-01-01T08:00:00.000Z')",
        "A request is approved or refused",
    ),
    (
        "gas_until",
        "INSERT INTO gas_answer (request_id, approved, until_on, words, person_id, at) VALUES (2, 1, 'soon', 'well, yes', 3, '2026-01-01T08:00:00.000Z')",
        "Write the last day it covers",
    ),
    (
        "gas_words",
        "INSERT INTO gas_answer (request_id, approved, words, person_id, at) VALUES (2, 0, '', 3, '2026-01-01T08:00:00.000Z')",
        "Say on what conditions, or why not",
    ),
    (
        "gas_until_approved",
        "INSERT INTO gas_answer (request_id, approved, words, person_id, at) VALUES (2, 1, 'well, yes', 3, '2026-01-01T08:00:00.000Z')",
        "An approval covers days; a refusal none",
    ),
    (
        "waiting_what",
        "UPDATE test_waiting SET what = 'rain'",
        "A test waits for a witness or for a certificate",
    ),
    (
        "use_of",
        "INSERT INTO instrument_use (instrument_id, used_on) VALUES (1, '2026-03-01')",
        "An instrument is used for a rebuild or a test",
    ),
    (
        "bring_in_matching",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, matching) VALUES (4, '', 'list.csv', x'00', 'none')",
        "The matching of columns could not be kept as it was",
    ),
    (
        "bring_in_sha256",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, sha256) VALUES (4, '', 'list.csv', x'00', 'short')",
        "The mark of a list could not be kept as it was",
    ),
    (
        "bring_in_found",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, found) VALUES (4, '', 'list.csv', x'00', 'none')",
        "What was found in a list could not be kept as it was",
    ),
    (
        "bring_in_lines",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, lines) VALUES (4, '', 'list.csv', x'00', -1)",
        "A list has no fewer than no lines",
    ),
    (
        "bring_in_refused",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, refused_rows) VALUES (4, '', 'list.csv', x'00', -1)",
        "A list has no fewer than no refused rows",
    ),
    (
        "bring_in_passed_over",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, passed_over_rows) VALUES (4, '', 'list.csv', x'00', -1)",
        "A list has no fewer than no rows passed over",
    ),
    (
        "bring_in_once",
        "INSERT INTO bring_in (person_id, at, file_name, bytes, left_at, accepted_at) VALUES (4, '', 'list.csv', x'00', 'a', 'b')",
        "A list is taken in or left, not both",
    ),
    (
        "audit_facts",
        "INSERT INTO audit (id, at, who, deed, subject, facts, hash) VALUES (9999, '', 'x', 'x', 'x', 'none', zeroblob(32))",
        "A line of the audit chain could not be kept as it was",
    ),
    (
        "audit_hash",
        "INSERT INTO audit (id, at, who, deed, subject, facts, hash) VALUES (9999, '', 'x', 'x', 'x', '{}', x'00')",
        "A line of the audit chain carries its hash",
    ),
    (
        "due_date",
        "UPDATE due SET date = 'soon'",
        "A due date is a date",
    ),
    (
        "due_latest",
        "UPDATE due SET latest_on = 'soon'",
        "A latest date is a date",
    ),
    (
        "due_work_date",
        "UPDATE due SET work_rule = 'failure', work_date = 'soon'",
        "The date of work is a date",
    ),
    (
        "due_work",
        "UPDATE due SET work_rule = 'failure'",
        "What asks for work has a rule and its date",
    ),
    (
        "due_rebuild_date",
        "UPDATE due SET rebuild_rule = 'failure', rebuild_date = 'soon'",
        "The date of a rebuild is a date",
    ),
    (
        "due_rebuild",
        "UPDATE due SET rebuild_date = '2026-09-01'",
        "What asks for a rebuild has a rule and its date",
    ),
    (
        "due_pull",
        "UPDATE due SET pull = 'hard'",
        "A due date is pulled to a window, or it is not",
    ),
    (
        "due_window",
        "UPDATE due SET window_ends_on = 'soon'",
        "A window\u{2019}s last day is a date",
    ),
    (
        "count_not_negative",
        "UPDATE gauge_count SET gauges = -1",
        "Gauges cannot be counted below none",
    ),
    (
        "due_day_gauges",
        "UPDATE due_day SET gauges = -1",
        "Gauges cannot be counted below none",
    ),
    (
        "one_projection",
        "INSERT INTO projection_rules (id, version) VALUES (2, 1)",
        "A register has one set of rules for its projections",
    ),
    (
        "one_storeroom",
        "INSERT INTO storeroom_rule (id, service_level, review_days) VALUES (2, '95', 30)",
        "A register has one set of rules for its storeroom",
    ),
    (
        "rule_review",
        "INSERT INTO storeroom_rule (id, service_level, review_days) VALUES (1, '95', 400)",
        "Write 0 to 366 days",
    ),
    (
        "rule_currency",
        "INSERT INTO storeroom_rule (id, service_level, review_days, currency) VALUES (1, '95', 30, 'a long currency')",
        "A currency has at most 8 characters",
    ),
    (
        "terms_supplier",
        "INSERT INTO kit_terms (id, supplier) VALUES (1, printf('%.*c', 121, 'x'))",
        "A supplier has at most 120 characters",
    ),
    (
        "terms_review",
        "INSERT INTO kit_terms (id, review_days) VALUES (1, 400)",
        "Write 0 to 366 days",
    ),
    (
        "rate_ground",
        "INSERT INTO class_rate (id, failures_per_year, ground) VALUES (1, '0.1', ' ')",
        "Say in 3 to 500 characters where the rate comes from",
    ),
    (
        "cost_ground",
        "INSERT INTO class_cost (service_class_id, planned, failure, ground, person_id, at) VALUES (1, '1', '2', ' ', 4, '')",
        "Say in 3 to 500 characters where the costs come from",
    ),
    (
        "class_count_not_negative",
        "UPDATE class_count SET gauges = -1",
        "Gauges of a class cannot be counted below none",
    ),
    (
        "class_kit_not_negative",
        "INSERT INTO class_kit (kit_id, service_class_id, kits, gauges) VALUES (1, 1, 1, -1)",
        "Gauges that take a kit cannot be counted below none",
    ),
    (
        "order_number",
        "INSERT INTO kit_order (number, state, made_on, made_by) VALUES ('', 'draft', '2026-03-01', 2)",
        "An order number has 1 to 40 characters",
    ),
    (
        "order_state",
        "INSERT INTO kit_order (number, state, made_on, made_by) VALUES ('O-9', 'lost', '2026-03-01', 2)",
        "An order is in one of its states",
    ),
    (
        "order_supplier",
        "INSERT INTO kit_order (number, state, supplier, made_on, made_by) VALUES ('O-9', 'draft', printf('%.*c', 121, 'x'), '2026-03-01', 2)",
        "A supplier has at most 120 characters",
    ),
    (
        "order_reference",
        "INSERT INTO kit_order (number, state, reference, made_on, made_by) VALUES ('O-9', 'draft', printf('%.*c', 81, 'x'), '2026-03-01', 2)",
        "A reference has at most 80 characters",
    ),
    (
        "order_placed_on",
        "INSERT INTO kit_order (number, state, made_on, made_by, placed_on) VALUES ('O-9', 'placed', '2026-03-01', 2, 'soon')",
        "Write the day it was placed as 31 Dec 2026",
    ),
    (
        "order_placed",
        "INSERT INTO kit_order (number, state, made_on, made_by) VALUES ('O-9', 'placed', '2026-03-01', 2)",
        "An order that was placed has the day of it",
    ),
    (
        "order_line_quantity",
        "INSERT INTO kit_order_line (order_id, kit_id, quantity) VALUES (3, 1, 0)",
        "Order 1 to 100000 kits in a line",
    ),
    (
        "order_line_promised",
        "UPDATE kit_order_line SET promised_on = 'soon' WHERE id = 1",
        "Write the promised day as 31 Dec 2026",
    ),
    (
        "order_line_awaited",
        "UPDATE kit_order_line SET awaited = 9 WHERE id = 1",
        "No more is awaited of a line than was ordered",
    ),
    (
        "order_receipt_quantity",
        "INSERT INTO order_receipt (line_id, stock_line_id, quantity) VALUES (1, 2, 0)",
        "At least one kit came",
    ),
    (
        "gasket_age_months",
        "INSERT INTO gasket_age (id, months, ground) VALUES (1, 601, 'data sheet')",
        "Write a whole number of months from 1 to 600, or nothing",
    ),
    (
        "gasket_age_ground",
        "INSERT INTO gasket_age (id, months, ground) VALUES (1, 60, ' ')",
        "Say in 3 to 500 characters what it stands on",
    ),
    (
        "outlook_stale",
        "UPDATE kit_outlook SET stale = 2",
        "What to order is reckoned, or waits to be",
    ),
    (
        "alternative_note",
        "INSERT INTO kit_alternative (kit_id, other_id, note) VALUES (2, 1, ' ')",
        "Say in 3 to 500 characters what has to be minded",
    ),
    (
        "alternative_other",
        "INSERT INTO kit_alternative (kit_id, other_id, note) VALUES (1, 1, 'it fits')",
        "A kit does not stand in for itself",
    ),
    (
        "document_title",
        "INSERT INTO lot_document (lot_id, title, media_type, sha256, bytes, person_id, at) VALUES (1, ' ', 'application/pdf', x'00', x'00', 2, '2026-03-01T08:00:00.000Z')",
        "Say what the paper is in 1 to 120 characters",
    ),
    (
        "document_media",
        "INSERT INTO lot_document (lot_id, title, media_type, sha256, bytes, person_id, at) VALUES (1, 'x', 'text/plain', x'00', x'00', 2, '2026-03-01T08:00:00.000Z')",
        "Choose a PDF, JPEG or PNG file",
    ),
    (
        "request_until",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (2, 'soon', 'then', 'kit late', 'leak', 'looked at', 4, '2026-03-01T08:00:00.000Z')",
        "Write the later date as 31 Dec 2026",
    ),
    (
        "request_limit",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (2, '2026-12-01', '2026-11-01', 'kit late', 'leak', 'looked at', 4, '2026-03-01T08:00:00.000Z')",
        "The date no deferral passes is not before the deferral",
    ),
    (
        "request_reason",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (2, '2026-12-01', '2026-12-01', '', 'leak', 'looked at', 4, '2026-03-01T08:00:00.000Z')",
        "A reason has 3 to 2000 characters",
    ),
    (
        "request_risk",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (2, '2026-12-01', '2026-12-01', 'kit late', '', 'looked at', 4, '2026-03-01T08:00:00.000Z')",
        "Say what could go wrong in 3 to 2000 characters",
    ),
    (
        "request_mitigations",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (2, '2026-12-01', '2026-12-01', 'kit late', 'leak', '', 4, '2026-03-01T08:00:00.000Z')",
        "Say what is done against it in 3 to 2000 characters",
    ),
    (
        "request_decision",
        "UPDATE deferral_request SET decision = 'maybe' WHERE id = 2",
        "A deferral that was asked for is signed, refused or taken back",
    ),
    (
        "request_by_another",
        "UPDATE deferral_request SET decision = 'signed', decided_by = 4, decided_at = '2026-03-01T09:00:00.000Z' WHERE id = 2",
        "Who asked for a deferral does not sign it",
    ),
];

/// Numbers and names that are unique.
pub const UNIQUE: &[(&str, &str, &str)] = &[
    (
        "person_sign_in_unique",
        "UPDATE person SET sign_in = 'ENGINEER' WHERE id = 1",
        "Somebody signs in under this name already",
    ),
    (
        "area_name_unique",
        "UPDATE area SET name = 'tank row' WHERE id = 1",
        "There is an area of this name already",
    ),
    (
        "class_name_unique",
        "UPDATE service_class SET name = 'Cold Water' WHERE id = 1",
        "There is a service class of this name already",
    ),
    (
        "kit_number_unique",
        "INSERT INTO kit (number, name, kind, lead_days) VALUES ('tw-k-1', 'x', 'reflex', 1)",
        "Another kit has this number already",
    ),
    (
        "lot_number_unique",
        "INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'l-1', '2025-01-10')",
        "This kit has a lot of this number already",
    ),
    (
        "instrument_number_unique",
        "INSERT INTO instrument (number, kind, range_low, range_high, unit) VALUES ('pg-1', 'pressure-gauge', '0', '1', 'bar')",
        "Another instrument has this number already",
    ),
    (
        "gauge_tag_unique",
        "UPDATE gauge SET tag = 'lg-2' WHERE id = 1",
        "Another gauge hangs under this tag number already",
    ),
    (
        "rebuild_ordinal_unique",
        "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES (1, 1, 'planned', 'leak', '2026-03-01', '', 4)",
        "This gauge was given a rebuild meanwhile; try again",
    ),
    (
        "rebuild_open_once",
        "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES (2, 2, 'planned', 'leak', '2026-03-01', '', 4)",
        "A rebuild of this gauge is open already",
    ),
    (
        "entry_supersedes_unique",
        "INSERT INTO bench_entry (rebuild_id, topic, facts, at, person_id, supersedes) VALUES (2, 'remark', '{}', '', 1, 2)",
        "This entry was corrected already; correct the later one",
    ),
    (
        "test_number_unique",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-1', 2026, 3, 1, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "This test number was given meanwhile; try again",
    ),
    (
        "certificate_number_unique",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-1', 2026, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "This certificate number was given meanwhile; try again",
    ),
    (
        "certificate_supersedes_unique",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, supersedes) VALUES ('C-2', 2026, 1, 1, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000', 1); INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, supersedes) VALUES ('C-3', 2026, 2, 1, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000', 1)",
        "A correction replaces the certificate of the same test that stands",
    ),
    (
        "signing_key_unique",
        "INSERT INTO signing_key (fingerprint, public_key, made_at, reason) VALUES ('0000000000000000', '0000000000000000000000000000000000000000000000000000000000000000', '2026-01-01T08:00:00.000Z', 'other')",
        "This key is known already",
    ),
    (
        "certificate_paper_unique",
        "INSERT INTO certificate_paper (certificate_id, paper, sha256, at) VALUES (1, 'letter', '0000000000000000000000000000000000000000000000000000000000000000', '2026-01-01T08:00:00.000Z')",
        "This paper was handed out before",
    ),
    (
        "test_rule_scope",
        "INSERT INTO test_rule (ground) VALUES ('procedure 2')",
        "This was chosen by somebody else meanwhile; load the page again",
    ),
    (
        "planned_test_open",
        "INSERT INTO planned_test (gauge_id, planned_for, witnessed, person_id, at) VALUES (1, '2026-06-05', 0, 4, '2026-01-01T08:00:00.000Z')",
        "A test of this gauge is planned already",
    ),
    (
        "pressure_test_in_year",
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at) VALUES ('T-4', 2026, 2, 1, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T08:00:00.000Z')",
        "Pressure tests are numbered one after the other",
    ),
    (
        "certificate_in_year",
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-2', 2025, 1, 3, 3, '2026-03-02T10:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000')",
        "Certificates are numbered one after the other",
    ),
    (
        "order_number_unique",
        "INSERT INTO kit_order (number, state, made_on, made_by) VALUES ('O-1', 'draft', '2026-03-01', 2)",
        "This order number was given meanwhile; try again",
    ),
    (
        "order_line_unique",
        "INSERT INTO kit_order_line (order_id, kit_id, quantity) VALUES (3, 1, 2), (3, 1, 2)",
        "This kit is in the order already",
    ),
    (
        "order_receipt_unique",
        "INSERT INTO order_receipt (line_id, stock_line_id, quantity) VALUES (1, 1, 2)",
        "This receipt answers a line of an order already",
    ),
    (
        "alternative_unique",
        "INSERT INTO kit_alternative (kit_id, other_id, note) VALUES (1, 2, 'it fits')",
        "This kit is named already",
    ),
    (
        "window_choice_unique",
        "INSERT INTO window_choice (window_id, gauge_id, person_id, at) VALUES (1, 1, 4, '2026-03-01T08:00:00.000Z')",
        "This gauge is chosen into the window already",
    ),
    (
        "deferral_request_open",
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES (1, '2026-12-01', '2026-12-01', 'kit late', 'leak', 'looked at', 4, '2026-03-01T08:00:00.000Z')",
        "A deferral of this gauge waits for a decision already",
    ),
    (
        "calendar_feed_unique",
        "INSERT INTO calendar_feed (person_id, token_hash, made_at) VALUES (4, x'01', '2026-03-01T08:00:00.000Z')",
        "This address was given meanwhile; try again",
    ),
];
