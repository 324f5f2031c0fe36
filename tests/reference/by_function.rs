//! Which test holds which public computation: three values or more from outside, one at a limit of its
//! range, one refusal, and the random cases. The tests themselves stand in the files named here.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use super::deviations;

/// A line a computation: its path; tests with values from outside; the test with one at a limit of its
/// range; the test in which it refuses (or why it never does); topic and words of its random cases (or
/// why no library answers it).
const HELD: &str = "
bolting::wrench_fits; bolting::a_wrench_is_good_from_a_fifth_of_its_scale; bolting::a_wrench_is_good_from_a_fifth_of_its_scale; bolting::a_wrench_without_a_scale_is_refused; mechanics/wrench
bolting::NutFactor::new; bolting::bolt_load_follows_from_torque, bolting::the_share_of_yield_is_a_band; bolting::bolt_load_follows_from_torque; bolting::a_load_out_of_range_is_refused; mechanics/bolt load
bolting::load; bolting::bolt_load_follows_from_torque, bolting::the_share_of_yield_is_a_band; bolting::bolt_load_follows_from_torque; bolting::a_load_out_of_range_is_refused; mechanics/bolt load, mechanics/bolt stress
bolting::wrench_over_passes; bolting::low_passes_are_flagged; bolting::low_passes_are_flagged; bolting::low_passes_are_flagged; mechanics/wrench over passes
bolting::materials::yield_strength; bolting::yield_strength_falls_with_size; bolting::yield_strength_falls_with_size; bolting::yield_strength_falls_with_size; - a table of a standard
bolting::nuts::nut_size; bolting::the_wrench_fits_the_nut; bolting::the_wrench_fits_the_nut; bolting::a_nut_that_is_not_made_is_refused; - a table of a standard
bolting::threads::stress_area; bolting::inch_stress_areas_agree_with_the_table, bolting::metric_stress_areas_agree_with_the_table; bolting::metric_stress_areas_agree_with_the_table; - every thread has one; mechanics/stress area
calendar::in_range; dates::dates_outside_1900_to_2200_are_refused_and_named; dates::dates_outside_1900_to_2200_are_refused_and_named; - it answers no; dates/require, in_range
calendar::require; dates::dates_outside_1900_to_2200_are_refused_and_named; dates::dates_outside_1900_to_2200_are_refused_and_named; dates::dates_outside_1900_to_2200_are_refused_and_named; dates/require, in_range
calendar::add_months; dates::months_are_added_with_the_end_of_the_month_clamped, dates::a_series_of_months_is_counted_from_its_anchor_and_does_not_drift; dates::months_are_added_with_the_end_of_the_month_clamped; dates::dates_outside_1900_to_2200_are_refused_and_named; dates/add_months
calendar::months_before; dates::months_are_taken_back_with_the_end_of_the_month_clamped; dates::months_are_taken_back_with_the_end_of_the_month_clamped; dates::dates_outside_1900_to_2200_are_refused_and_named; dates/months_before
calendar::first_of_month; dates::the_first_and_the_last_day_of_a_month_follow_the_leap_year_rule, dates::the_month_before_has_its_first_and_its_last_day; dates::the_first_and_the_last_day_of_a_month_follow_the_leap_year_rule; - every date has one; dates/first_of_month
calendar::last_of_month; dates::the_first_and_the_last_day_of_a_month_follow_the_leap_year_rule, dates::the_month_before_has_its_first_and_its_last_day; dates::the_first_and_the_last_day_of_a_month_follow_the_leap_year_rule; - every date has one; dates/last_of_month
calendar::days_before; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates/days_before
calendar::days_after; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates::days_ahead_and_back_cross_leap_days_and_stop_at_the_range; dates/days_after
conformance::Guard::of; conformance::guard_factors_keep_their_range; conformance::guard_factors_keep_their_range; conformance::guard_factors_keep_their_range; faces/conformance verdict
conformance::decide; conformance::the_verdict_follows_the_guarded_limits, conformance::units_may_be_mixed; conformance::the_verdict_follows_the_guarded_limits; conformance::an_uncertainty_of_nothing_is_refused; faces/conformance verdict, faces/conformance probability
conformance::probability; conformance::probabilities_agree_with_published_examples, conformance::probabilities_agree_with_a_statistics_library; conformance::values_far_away_are_certain; conformance::an_uncertainty_of_nothing_is_refused; faces/conformance probability
demand::KitsPerEvent::new; kit_demand::several_kits_a_failure_follow_the_compound_poisson_recursion; kit_demand::shares_come_from_the_fleet_and_must_add_up; kit_demand::shares_come_from_the_fleet_and_must_add_up; kits/compound_poisson: mean
demand::KitsPerEvent::from_fleet; kit_demand::shares_come_from_the_fleet_and_must_add_up; kit_demand::shares_come_from_the_fleet_and_must_add_up; kit_demand::shares_come_from_the_fleet_and_must_add_up; kits/compound_poisson: mean, kits/pool: share
demand::expected_events; kit_demand::expected_failures_are_rate_times_gauges_times_years; kit_demand::expected_failures_are_rate_times_gauges_times_years; kit_demand::expected_failures_are_rate_times_gauges_times_years; kits/expected_events
demand::pool; kit_demand::service_classes_that_share_a_kit_are_pooled; kit_demand::service_classes_that_share_a_kit_are_pooled; kit_demand::service_classes_that_share_a_kit_are_pooled; kits/pool: events, kits/pool: share
demand::poisson; kit_demand::one_kit_a_failure_is_the_poisson_table; kit_demand::without_failures_no_kits_are_wanted; kit_demand::demand_out_of_range_is_refused; kits/poisson: P(D = n), kits/poisson: P(D <= n), kits/poisson: P(D > n), kits/poisson: expected_excess by mean
demand::compound_poisson; kit_demand::several_kits_a_failure_follow_the_compound_poisson_recursion, kit_demand::the_recursion_agrees_with_convolution_by_definition; kit_demand::thousands_of_kits_do_not_vanish_by_underflow; kit_demand::demand_out_of_range_is_refused; kits/compound_poisson: P(D = n), kits/compound_poisson: P(D <= n), kits/compound_poisson: P(D > n), kits/compound_poisson: expected_excess, kits/compound_poisson: expected_left, kits/compound_poisson: mean, kits/compound_poisson: variance
due::decide; due_dates::the_rebuild_interval_runs_from_the_last_return_to_service, due_dates::the_earliest_rule_governs_and_all_are_shown_by_date, due_dates::a_gauge_that_cannot_be_isolated_is_pulled_back_to_the_last_window_that_ends_in_time; due_dates::a_deferral_never_passes_its_hard_limit; due_dates::dates_and_intervals_out_of_range_are_refused_and_named; dates/decide, governing_only
due::governing_only; due_dates::kits_are_wanted_for_the_rebuild_behind_an_earlier_look_over, edges::month_ends_and_leap_days_are_kept_by_the_calendar; edges::an_empty_fleet_asks_for_nothing_or_is_named; due_dates::dates_and_intervals_out_of_range_are_refused_and_named; dates/decide, governing_only
due::rebuild_only; due_dates::kits_are_wanted_for_the_rebuild_behind_an_earlier_look_over; due_dates::kits_are_wanted_for_the_rebuild_behind_an_earlier_look_over; due_dates::kits_are_wanted_for_the_rebuild_behind_an_earlier_look_over; dates/rebuild_only
excess::excess; excess::a_few_failures_are_summed_by_hand, excess::tables_of_the_poisson_law_agree; excess::far_out_the_first_term_is_all_there_is; excess::nothing_expected_is_refused; - one sum of the Poisson law, which is compared for kits
flatness::Flatness::stamped; flatness::the_value_can_be_stamped_without_binary_noise; flatness::the_value_can_be_stamped_without_binary_noise; flatness::the_value_can_be_stamped_without_binary_noise; faces/face: shown flatness
flatness::minimum_zone; flatness::the_zone_of_known_faces_is_found, flatness_plate::the_zone_of_a_published_plate_is_what_two_crossing_chords_prove, flatness_plate::the_zone_of_two_sides_of_the_plate_is_less; flatness::a_twist_counts_although_each_rail_is_straight; flatness::readings_that_are_no_numbers_are_refused; faces/minimum zone, faces/least squares, faces/root mean square
hold::judge; hold::drops_are_compared_with_what_temperature_explains, hold::gas_is_judged_by_the_gas_law; hold::a_hold_is_not_decidable_where_the_readings_cannot_tell; hold::readings_that_cannot_be_are_refused; water/verdict of the hold, water/unexplained change, water/uncertainty of the change, water/probability of no drop
hold::gas::gas_loss; hold::the_loss_of_a_gas_test_follows_from_the_gas_law; hold::the_loss_of_a_gas_test_follows_from_the_gas_law; hold::the_loss_of_a_gas_test_follows_from_the_gas_law; water/gas drop, water/gas leak rate
life::Confidence::new; survival::mean_time_between_failures_agrees_with_the_handbook_and_the_library; weibull::confidences_keep_their_range; weibull::confidences_keep_their_range; life/bounds by likelihood ratio
life::data::LifeData::new; weibull::eight_data_sets_give_the_published_shape_and_characteristic_life; weibull::impossible_observations_are_refused_by_name; weibull::impossible_observations_are_refused_by_name; life/fit: β
life::law::Life::new; weibull::a_life_keeps_its_meaning_in_another_unit; weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::a_life_keeps_its_meaning_in_another_unit; life/law: mean
life::law::Life::in_unit; weibull::a_life_keeps_its_meaning_in_another_unit; weibull::a_life_keeps_its_meaning_in_another_unit; - every life has one; - a product of two definitions
life::law::Life::cumulative_hazard; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every age counts; life/law: cumulative hazard
life::law::Life::survival; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every age counts; life/law: survival
life::law::Life::failed_by; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every age counts; life/law: failed by
life::law::Life::hazard; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every age counts; life/law: hazard
life::law::Life::mean; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_nist_example_prints_as_published, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every life has one; life/law: mean
life::law::Life::standard_deviation; weibull::a_life_keeps_its_meaning_in_another_unit, weibull::the_nist_example_prints_as_published, weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; - every life has one; life/law: deviation
life::law::Life::age_at_share; weibull::ages_at_which_a_share_has_failed_agree_with_the_published_percentiles; weibull::the_flattest_and_the_steepest_life_are_the_librarys; weibull::the_flattest_and_the_steepest_life_are_the_librarys; life/law: age at share
long_run::long_run; ordering::a_reorder_point_with_a_batch_gives_the_textbook_fill_rate, ordering::several_kits_an_event_lower_the_fill_rate_of_a_batch; ordering::several_kits_an_event_lower_the_fill_rate_of_a_batch; ordering::several_kits_an_event_lower_the_fill_rate_of_a_batch; kits/long_run: fill rate, kits/long_run: backorders, kits/long_run: on hand
long_run::cheapest_quantity; ordering::the_cheapest_order_weighs_ordering_against_keeping; ordering::the_cheapest_order_weighs_ordering_against_keeping; ordering::the_cheapest_order_weighs_ordering_against_keeping; kits/cheapest_quantity, kits/cheapest_quantity: exact, kits/cheapest_quantity: cost
lots::last_usable_day; lots::the_shelf_life_runs_in_calendar_months_from_the_day_made; lots::the_shelf_life_runs_in_calendar_months_from_the_day_made; lots::the_shelf_life_runs_in_calendar_months_from_the_day_made; dates/last_usable_day
lots::usability; lots::a_lot_counts_only_while_it_may_be_used; edges::stock_that_expires_on_the_day_still_serves_that_day; - the reason is the answer; kits/usable_quantity
lots::usable_quantity; lots::a_lot_counts_only_while_it_may_be_used; lots::a_lot_counts_only_while_it_may_be_used; - a sum; kits/usable_quantity
lots::first_expired_first; lots::the_order_lots_go_out_in_is_by_expiry_then_receipt_then_name; lots::the_order_lots_go_out_in_is_by_expiry_then_receipt_then_name; - an order; - our own rule
lots::pick; lots::a_pick_names_its_lots_and_what_is_missing; lots::a_pick_names_its_lots_and_what_is_missing; lots::a_pick_names_its_lots_and_what_is_missing; kits/pick: kits met
lots::replay; lots::the_lot_that_expires_first_goes_out_first, lots::a_use_that_asks_for_days_of_shelf_life_passes_short_lots_over, lots::lots_alike_in_date_go_out_by_their_name; edges::stock_that_expires_on_the_day_still_serves_that_day; lots::a_pick_names_its_lots_and_what_is_missing; kits/replay: kits met
lots::cover; lots::a_shelf_covers_what_is_wanted_day_by_day; lots::a_shelf_covers_what_is_wanted_day_by_day; lots::a_shelf_covers_what_is_wanted_day_by_day; kits/cover: kits met
lots::expected_expiry_loss; lots::the_loss_to_expect_of_a_lot_is_what_demand_leaves; lots::the_loss_to_expect_of_a_lot_is_what_demand_leaves; - every number of kits has one; kits/expected_expiry_loss, kits/expected_expiry_loss: chance
needs::failure_rate; needs::a_rate_from_few_failures_is_never_zero_and_goes_over_into_the_quotient; needs::a_rate_from_few_failures_is_never_zero_and_goes_over_into_the_quotient; needs::a_rate_from_few_failures_is_never_zero_and_goes_over_into_the_quotient; kits/failure_rate
needs::ask; needs::the_cover_is_kept_back_and_the_first_day_it_cannot_be_is_the_shortfall, needs::kits_that_expire_before_their_use_do_not_count, needs::a_longer_lead_time_and_a_higher_service_level_keep_more_for_failures; needs::nothing_wanted_and_nobody_who_could_fail_asks_for_nothing; needs::a_span_beyond_the_calendar_is_refused; - our own rule of ordering; its parts are compared
outlook::outlook; outlook::new_gauges_fail_as_the_renewal_values_say, outlook::gauges_that_never_fail_are_rebuilt_on_their_dates; outlook::a_gauge_far_older_than_its_life_fails_at_once; outlook::impossible_fleets_are_refused_by_name; fleet/outlook: failures of an aged gauge, fleet/outlook: rebuilds of an aged gauge, fleet/played: failures, fleet/played: kits, fleet/played: overdue, fleet/played: rebuilds
pressure_test::required; pressure_test::the_test_pressure_follows_the_chosen_rule, pressure_test::an_exact_value_is_not_raised; pressure_test::a_component_limit_below_the_test_is_refused; pressure_test::a_rating_or_ratio_that_is_none_is_refused; mechanics/required test pressure, mechanics/test pressure before rounding
pressure_test::head::of_column; pressure_test::a_column_of_water_presses; pressure_test::a_column_of_water_presses; pressure_test::a_column_of_water_presses; mechanics/head
pressure_test::head::at_ends; pressure_test::the_ends_see_other_pressures_than_the_gauge; pressure_test::the_ends_see_other_pressures_than_the_gauge; pressure_test::the_ends_see_other_pressures_than_the_gauge; mechanics/pressure at the ends
pressure_test::head::reading_for; pressure_test::the_gauge_shows_more_than_the_highest_point_needs; pressure_test::the_gauge_shows_more_than_the_highest_point_needs; pressure_test::the_gauge_shows_more_than_the_highest_point_needs; mechanics/least reading, mechanics/pressure at the lowest point
pressure_test::stress::stress_ratio; pressure_test::the_stress_ratio_is_at_least_one_and_may_be_capped; pressure_test::the_stress_ratio_is_at_least_one_and_may_be_capped; pressure_test::the_stress_ratio_is_at_least_one_and_may_be_capped; mechanics/stress ratio
pressure_test::stress::weakest; pressure_test::the_weakest_part_limits_the_test; pressure_test::the_weakest_part_limits_the_test; pressure_test::the_weakest_part_limits_the_test; mechanics/weakest part
pressure_test::test_gauge::gauge_fits; pressure_test::the_test_gauge_reads_about_twice_the_test, pressure_test::the_ends_of_the_gauge_window_count_as_inside; pressure_test::the_ends_of_the_gauge_window_count_as_inside; - it answers that it is not defined; mechanics/gauge ratio, mechanics/gauge suits
pressure_test::test_gauge::best_gauge; pressure_test::the_test_gauge_reads_about_twice_the_test; pressure_test::the_test_gauge_reads_about_twice_the_test; - it answers that none suits; mechanics/best gauge
pressure_test::test_gauge::reading_fits; pressure_test::a_gauge_must_read_finely_enough; pressure_test::a_gauge_must_read_finely_enough; pressure_test::a_gauge_must_read_finely_enough; mechanics/division over test pressure, mechanics/division fine enough
quantity::decimal; numbers::a_comma_parts_thousands_or_decimals_as_it_stands; numbers::a_comma_parts_thousands_or_decimals_as_it_stands; numbers::a_comma_parts_thousands_or_decimals_as_it_stands; - how people type
quantity::significant; numbers::numbers_are_rounded_to_significant_digits_as_sp_811_does, numbers::digits_before_the_point_are_never_rounded_away; numbers::digits_before_the_point_are_never_rounded_away; - every float can be written; mechanics/significant digits
quantity::significant_to; numbers::a_least_is_rounded_up_and_a_most_down; numbers::a_number_that_is_exact_is_left_alone_on_either_side; - every float can be written; - one step beside significant, which is compared
ranks::median_rank; ranks::single_median_ranks_agree_with_the_beta_law; ranks::single_median_ranks_agree_with_the_beta_law; ranks::single_median_ranks_agree_with_the_beta_law; life/exact median rank
ranks::adjusted_ranks; ranks::censored_lives_raise_the_ranks_after_them; ranks::censored_lives_raise_the_ranks_after_them; ranks::lives_without_an_exact_age_or_a_start_cannot_be_ranked; life/adjusted rank
ranks::rank_regression; ranks::lines_through_median_ranks_agree_with_the_libraries; ranks::lives_without_an_exact_age_or_a_start_cannot_be_ranked; ranks::lives_without_an_exact_age_or_a_start_cannot_be_ranked; life/line: β, life/line: η, life/line: r²
rating::at; rating::a_tabulated_rating_is_returned_as_it_stands, rating::between_points_the_rating_is_a_straight_line; rating::beyond_the_table_there_is_no_rating; rating::a_table_that_is_none_is_refused; mechanics/rating (absolute), mechanics/rating refused
rebuild_age::cost_rate; rebuild_age::the_cost_curve_agrees_with_the_library; rebuild_age::the_cost_curve_agrees_with_the_library; rebuild_age::the_cost_curve_agrees_with_the_library; life/rebuild age: cost curve
rebuild_age::best_rebuild_age; rebuild_age::the_cheapest_age_and_its_cost_agree_with_the_library, rebuild_age::a_published_grid_search_finds_the_same_cost; rebuild_age::no_age_is_named_where_none_exists; rebuild_age::no_age_is_named_where_none_exists; life/rebuild age: age, life/rebuild age: cost, life/rebuild age: never
renewal::expected_failures; renewal::the_renewal_function_agrees_with_the_published_table, renewal::the_renewal_function_agrees_with_high_precision_series, renewal::rebuilds_by_age_agree_with_discretised_and_simulated_values; renewal::a_constant_rate_makes_planned_rebuilds_useless; renewal::horizons_and_intervals_out_of_range_are_refused; fleet/renewal: calendar, fleet/renewal: early failures, fleet/renewal: failures by age, fleet/renewal: patched, fleet/renewal: planned, fleet/renewal: rebuilds by age, fleet/renewal: wear
renewal::next_failure::next_failure; renewal::the_next_failure_of_an_aged_gauge; renewal::the_next_failure_of_an_aged_gauge; renewal::the_next_failure_of_an_aged_gauge; fleet/next failure: chance, fleet/next failure: patched
reorder::ServiceLevel::new; ordering::the_cover_is_the_smallest_stock_that_meets_the_service_level; ordering::a_service_level_is_a_fraction_of_at_least_a_half; ordering::a_service_level_is_a_fraction_of_at_least_a_half; kits/compound_poisson: smallest_covering
reorder::Packing::new; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; kits/order_quantity
reorder::smallest_covering; ordering::the_cover_is_the_smallest_stock_that_meets_the_service_level, ordering::compound_demand_asks_for_more_than_its_mean_suggests; ordering::a_level_met_exactly_is_met; - every demand has one; kits/compound_poisson: smallest_covering, kits/poisson: smallest_covering
reorder::reorder_point; ordering::compound_demand_asks_for_more_than_its_mean_suggests, ordering::planned_kits_are_certain_and_added_to_the_cover; ordering::planned_kits_are_certain_and_added_to_the_cover; ordering::planned_kits_are_certain_and_added_to_the_cover; kits/reorder_point, kits/reorder_point: chance, kits/reorder_point: cover, kits/reorder_point: fill rate, kits/reorder_point: shortage
reorder::order_quantity; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; ordering::an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs; kits/order_quantity
reorder::suggest; ordering::stock_and_orders_on_the_way_count_together; ordering::stock_and_orders_on_the_way_count_together; ordering::stock_and_orders_on_the_way_count_together; kits/suggest: missing, kits/suggest: quantity
reorder::order_by; ordering::the_order_by_date_is_a_lead_time_before_the_shortfall_and_says_when_it_is_past; ordering::the_order_by_date_is_a_lead_time_before_the_shortfall_and_says_when_it_is_past; ordering::the_order_by_date_is_a_lead_time_before_the_shortfall_and_says_when_it_is_past; dates/order_by
saturation::pressure; saturation::the_check_tables_of_the_release_are_met; saturation::the_ends_of_the_range_are_open_and_beyond_is_refused; saturation::the_ends_of_the_range_are_open_and_beyond_is_refused; water/boiling pressure
saturation::temperature; saturation::the_check_tables_of_the_release_are_met, saturation::boiling_under_gauge_pressures_agrees_with_a_library; saturation::the_ends_of_the_range_are_open_and_beyond_is_refused; saturation::the_ends_of_the_range_are_open_and_beyond_is_refused; water/boiling temperature
saturation::glass::steam_glass; saturation::steam_calls_for_a_shield_where_bare_glass_would_be_etched; saturation::steam_calls_for_a_shield_where_bare_glass_would_be_etched; saturation::steam_calls_for_a_shield_where_bare_glass_would_be_etched; water/glass in steam, water/advice on glass in steam
seat::stations; seat::stations_stand_a_pitch_apart_on_each_rail_from_the_same_end; seat::lengths_that_cannot_be_are_refused; - the zone refuses them; faces/face kept
seat::flat; seat::a_twist_of_four_thousandths_lies_on_a_limit_of_two_and_keeps_it, seat::a_shown_flatness_is_rounded_up_so_that_it_never_reads_within_a_limit_it_breaks; seat::a_face_that_only_leans_is_flat_to_nothing; seat::lengths_that_cannot_be_are_refused; faces/face kept, faces/face: shown flatness
seat::under_straightedge; seat::a_reading_on_its_limit_keeps_it_in_either_unit; seat::a_reading_on_its_limit_keeps_it_in_either_unit; seat::lengths_that_cannot_be_are_refused; faces/feeler under the straightedge
seat::wall; seat::a_reading_on_its_limit_keeps_it_in_either_unit; seat::a_reading_on_its_limit_keeps_it_in_either_unit; seat::lengths_that_cannot_be_are_refused; faces/wall against the least wall
shown::at_most; shown::digits_follow_the_uncertainty_as_in_the_guide, shown::a_flatness_is_shown_to_the_step_of_its_indicator_and_never_below_itself; shown::a_result_that_keeps_its_limit_never_reads_beyond_it; shown::what_cannot_be_rounded_is_refused; - decimals are counted by hand
stock_plan::project; stock_projection::a_fixed_lot_is_planned_as_in_the_seat_subassembly_record, stock_projection::a_fixed_quantity_is_planned_as_in_the_master_schedule_exercise, stock_projection::orders_for_just_what_is_needed_follow_the_chair_exercise; stock_projection::stock_below_the_safety_stock_asks_at_once_even_without_wants; stock_projection::a_plan_out_of_range_is_refused; - the textbook's netting is written out as a property
stock_plan::unaided; needs::the_months_without_an_order_say_what_is_left_and_what_is_missing; needs::the_months_without_an_order_say_what_is_left_and_what_is_missing; needs::the_months_without_an_order_say_what_is_left_and_what_is_missing; - conservation is a property
stock_plan::expected_wants; stock_projection::failures_to_be_expected_are_spread_in_whole_kits_and_never_fall_behind; stock_projection::failures_to_be_expected_are_spread_in_whole_kits_and_never_fall_behind; stock_projection::failures_to_be_expected_are_spread_in_whole_kits_and_never_fall_behind; - our own rule of rounding
stored_energy::gas_test; stored_energy::energy_tnt_and_distance_follow_the_method, stored_energy::a_published_example_is_met, stored_energy::the_us_form_agrees_but_for_its_atmosphere; stored_energy::the_distance_is_at_least_the_fixed_one; stored_energy::pressure_volume_and_gas_out_of_range_are_refused; mechanics/stored energy of air, mechanics/work of expansion, mechanics/blast distance, mechanics/blast distance of 2008
survival::kaplan_meier; survival::the_remission_data_give_the_textbook_curve, survival::the_leukaemia_data_give_the_library_curve; survival::a_curve_that_ends_in_a_failure_ends_at_zero_without_bounds; survival::a_failure_found_between_looks_has_no_place_on_the_curve; life/curve: survival, life/curve: standard error, life/curve: lower bound, life/curve: upper bound
survival::mean_time::mean_time_between_failures; survival::mean_time_between_failures_agrees_with_the_handbook_and_the_library; survival::without_a_failure_only_a_lower_bound_can_be_said; survival::without_a_failure_only_a_lower_bound_can_be_said; life/mean time: lower, life/mean time: upper, life/mean time: at least
tighten::passes; tightening::passes_rise_in_steps_to_the_target; tightening::a_hundred_passes_are_the_most; tightening::a_torque_that_is_no_torque_is_refused; mechanics/passes
tighten::step_in; tightening::a_step_in_another_unit_is_the_whole_step_below; tightening::a_step_in_another_unit_is_the_whole_step_below; tightening::a_step_in_another_unit_is_the_whole_step_below; mechanics/step in another unit
tighten::plan; tightening::a_plan_in_another_unit_than_the_step_says_how_the_step_was_converted; tightening::a_plan_in_another_unit_than_the_step_says_how_the_step_was_converted; tightening::a_plan_in_another_unit_than_the_step_says_how_the_step_was_converted; mechanics/plan in another unit
tighten::by_percent; tightening::passes_by_percentage; tightening::passes_by_percentage; tightening::passes_by_percentage; mechanics/passes by percentage
tighten::order; tightening::bolts_are_tightened_from_the_centre_outwards; tightening::bolts_are_tightened_from_the_centre_outwards; tightening::no_bolts_and_too_many_are_refused; mechanics/bolt order
tighten::loosening; tightening::bolts_are_loosened_in_the_exact_reverse; tightening::bolts_are_loosened_in_the_exact_reverse; tightening::no_bolts_and_too_many_are_refused; - the order read backwards
tighten::u_bolts_in_order; tightening::u_bolts_go_by_station; tightening::u_bolts_go_by_station; tightening::no_bolts_and_too_many_are_refused; - our own rule
tighten::sections_in_order; tightening::the_middle_section_comes_first; tightening::the_middle_section_comes_first; tightening::no_bolts_and_too_many_are_refused; - our own rule
trapped::Enclosure::new; trapped::the_give_of_a_wall_follows_from_elasticity, trapped::a_tube_that_may_not_lengthen_widens_the_more; trapped::a_tube_that_may_not_lengthen_widens_the_more; trapped::what_is_no_enclosure_is_refused; water/slope
trapped::Enclosure::with_air; trapped::a_little_air_takes_most_of_the_slope; trapped::a_little_air_takes_most_of_the_slope; trapped::what_is_no_enclosure_is_refused; water/slope
trapped::slope; trapped::pressure_a_kelvin_agrees_with_a_library, trapped::a_little_air_takes_most_of_the_slope; trapped::the_slope_turns_where_water_and_metal_grow_alike; trapped::cooling_that_opens_a_vapour_space_has_no_pressure; water/slope
trapped::pressure_after; trapped::pressure_after_a_change_of_temperature_agrees_with_a_library; trapped::cooling_that_opens_a_vapour_space_has_no_pressure; trapped::cooling_that_opens_a_vapour_space_has_no_pressure; water/pressure after, water/pressure after refused
trapped::lost_volume; trapped::lost_volumes_agree_with_a_library; trapped::lost_volumes_agree_with_a_library; trapped::what_is_no_enclosure_is_refused; water/lost volume
trend::History::new; trend::both_tests_and_the_power_law_agree_with_published_examples; trend::several_gauges_are_pooled_each_with_its_own_end; trend::times_between_failures_are_refused_where_times_since_the_start_are_wanted; life/trend: U
trend::power_law::power_law; trend::both_tests_and_the_power_law_agree_with_published_examples, trend::published_figures_are_met_to_their_printed_digits; trend::too_few_failures_show_no_trend; trend::too_few_failures_show_no_trend; life/power law: β, life/power law: λ, life/power law: C², life/power law: unbiased β, life/power law: lower β, life/power law: upper β, life/power law: mean time now
trend::verdict::trend; trend::both_tests_and_the_power_law_agree_with_published_examples, trend::published_figures_are_met_to_their_printed_digits; trend::too_few_failures_show_no_trend; trend::too_few_failures_show_no_trend; life/trend: U, life/trend: χ², life/trend: chance above, life/trend: chance below, life/trend: chance of U
uncertainty::combine; uncertainty::the_end_gauge_of_the_guide_is_reproduced, uncertainty::budgets_agree_with_hand_reckoning; uncertainty::what_cannot_be_a_budget_is_refused; uncertainty::what_cannot_be_a_budget_is_refused; faces/combined uncertainty, faces/degrees of freedom
uncertainty::coverage_factor; uncertainty::coverage_factors_are_those_of_the_tables, uncertainty::coverage_factors_are_those_of_the_published_table; uncertainty::with_huge_degrees_of_freedom_the_normal_factor_is_reached_from_above; uncertainty::what_cannot_be_a_budget_is_refused; faces/coverage factor
wall::plan_skim; wall::a_skim_is_allowed_while_the_limit_stays, wall::units_of_a_skim_may_be_mixed; wall::units_of_a_skim_may_be_mixed; wall::a_cut_as_deep_as_the_wall_is_refused; faces/skim verdict, faces/skims left, faces/wall left
wall::skims_possible; wall::skims_left_are_counted_in_exact_decimals; wall::skims_left_are_counted_in_exact_decimals; wall::a_cut_as_deep_as_the_wall_is_refused; faces/skims possible
wall::grown::growth; wall::growth_is_held_against_what_both_readings_can_be_off; wall::growth_of_just_what_both_can_be_off_is_explained; wall::what_is_no_wall_or_no_uncertainty_is_no_growth; - one sum of squares
wall::grown::life_of_grown; wall::a_wall_that_grew_wears_on_at_the_faster_rate_from_what_it_was, wall::no_loss_between_readings_is_forgotten_for_one_that_grew, wall::a_reading_nobody_believes_puts_the_next_measurement_off_by_half_of_the_time_since; wall::a_wall_that_grew_over_its_only_reading_has_no_known_rate; wall::a_wall_that_grew_over_its_only_reading_has_no_known_rate; - our own rule on lives that are compared
wall::life::wear_rate; wall::wear_rates_are_those_of_worked_examples; wall::wear_rates_are_those_of_worked_examples; wall::a_wall_at_its_limit_is_spent_and_no_loss_promises_nothing; faces/wear rate
wall::life::outlook; wall::remaining_years_are_those_of_worked_examples; wall::a_wall_at_its_limit_is_spent_and_no_loss_promises_nothing; wall::a_wall_at_its_limit_is_spent_and_no_loss_promises_nothing; faces/outlook, faces/remaining life
wall::life::remaining_life; wall::the_next_measurement_is_half_the_life_away_at_most, wall::the_larger_rate_governs_and_growth_is_scatter, wall::of_two_readings_of_one_day_the_thinnest_counts; wall::without_a_second_day_the_interval_governs; wall::readings_that_make_no_history_are_refused; faces/next measurement, faces/remaining life, faces/outlook, faces/wear rate
wall::skimmed::life_after_skim; wall::a_skimmed_wall_wears_on_as_before_its_skim, wall::without_a_rate_before_the_skim_the_fastest_of_the_gauge_counts; wall::a_skimmed_wall_at_its_limit_is_used_up_whatever_its_rate; wall::a_skimmed_wall_at_its_limit_is_used_up_whatever_its_rate; - one division, which is compared for other lives
water::at; water::density_expansion_and_compressibility_agree_with_measured_water_at_one_atmosphere, water::density_at_one_atmosphere_agrees_with_the_metrologists_formula, water::states_of_a_pressure_test_agree_with_a_library; water::the_ends_of_the_range_answer_and_beyond_is_refused; water::the_ends_of_the_range_answer_and_beyond_is_refused; water/density, water/expansion, water/compressibility
water::pressure; water::the_check_table_of_the_release_is_met; water::the_ends_of_the_range_answer_and_beyond_is_refused; water::the_ends_of_the_range_answer_and_beyond_is_refused; water/pressure
weibull::fit; weibull::eight_data_sets_give_the_published_shape_and_characteristic_life, weibull::the_nist_example_prints_as_published; weibull::fewer_than_three_failures_give_a_bound_and_no_curve; weibull::ages_that_fix_no_shape_are_refused; life/fit: β, life/fit: η, life/fit: ℓ, life/fit: var ln β, life/fit: var ln η, life/fit: covariance, life/lifelines: β in standard errors, life/lifelines: η in standard errors, life/lifelines: ℓ above ours
weibull::bounds::curvature_bounds; weibull::bounds_by_curvature_and_by_likelihood_ratio_agree_with_the_libraries; weibull::bounds_of_the_share_still_good_lie_around_it; weibull::bounds_of_the_share_still_good_lie_around_it; life/bounds by curvature
weibull::bounds::likelihood_bounds; weibull::bounds_by_curvature_and_by_likelihood_ratio_agree_with_the_libraries; weibull::a_side_on_which_the_data_set_no_limit_has_no_bound; weibull::bounds_of_the_share_still_good_lie_around_it; life/bounds by likelihood ratio
weibull::one_parameter::AssumedShape::new; weibull::an_assumed_shape_gives_the_characteristic_life_and_its_lower_bound; weibull::assumed_shapes_out_of_range_are_refused; weibull::assumed_shapes_out_of_range_are_refused; life/assumed shape: η
weibull::one_parameter::fit_scale; weibull::an_assumed_shape_gives_the_characteristic_life_and_its_lower_bound; weibull::a_life_watched_from_a_later_age_counts_only_from_there; weibull::ages_that_fix_no_shape_are_refused; life/assumed shape: η, life/assumed shape: bound
weibull::one_parameter::assess; weibull::fewer_than_three_failures_give_a_bound_and_no_curve, edges::when_no_life_has_ended_only_a_bound_is_given; edges::when_no_life_has_ended_only_a_bound_is_given; weibull::lives_that_fix_nothing_are_refused_by_the_assessment; - it chooses between two that are compared
";

/// What says where a value comes from, as the rules of this folder write it.
const MARKS: [&str; 14] = [
    "published",
    "library:",
    "from memory",
    "common practice",
    "NIST",
    "IAPWS",
    "By hand",
    "by hand",
    "By definition",
    "by definition",
    "worked",
    "Worked",
    "geometry",
    "rithmetic",
];

/// A computation and what holds it.
struct Held<'a> {
    function: &'a str,
    values: Vec<&'a str>,
    limit: &'a str,
    refused: &'a str,
    random: &'a str,
}

fn held() -> Vec<Held<'static>> {
    HELD.lines()
        .filter(|line| !line.is_empty())
        .map(|line| {
            let mut parts = line.splitn(5, "; ");
            let mut next = || {
                parts
                    .next()
                    .unwrap_or_else(|| panic!("a part is missing: {line}"))
            };
            Held {
                function: next(),
                values: next().split(", ").collect(),
                limit: next(),
                refused: next(),
                random: next(),
            }
        })
        .collect()
}

/// The lines of the table of deviations a row names; topics have no comma, words may.
fn random_lines(random: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for part in random.split(", ") {
        if let Some((topic, words)) = part.split_once('/') {
            lines.push(format!("| {topic} | {words} | "));
        } else {
            let line = lines.last_mut().expect("words after a topic");
            let kept = line.trim_end_matches(" | ").to_owned();
            *line = format!("{kept}, {part} | ");
        }
    }
    lines
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A public computation as its source has it.
struct Public {
    path: String,
    fallible: bool,
    source: String,
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Free public functions, and public methods that compute or may refuse.
fn public() -> Vec<Public> {
    let folder = root().join("server/calc");
    let mut files = Vec::new();
    sources(&folder, &mut files);
    files.sort();
    let mut all = Vec::new();
    for file in files {
        let text = fs::read_to_string(&file).expect("readable");
        let module = file
            .strip_prefix(&folder)
            .expect("inside")
            .with_extension("")
            .to_string_lossy()
            .replace('/', "::");
        all.extend(public_of(&module, &text));
    }
    all
}

fn public_of(module: &str, text: &str) -> Vec<Public> {
    let product = text.split("#[cfg(test)]").next().unwrap_or_default();
    let lines: Vec<&str> = product.lines().collect();
    let mut owner = "";
    let mut all = Vec::new();
    for (i, line) in lines.iter().enumerate() {
        if line.starts_with("impl") {
            let words = line.trim_end_matches(['{', ' ']);
            owner = words.rsplit(' ').next().unwrap_or_default();
            owner = owner.split('<').next().unwrap_or_default();
        }
        let plain = line.trim_start();
        let depth = line.len() - plain.len();
        let Some(rest) = plain
            .strip_prefix("pub fn ")
            .or_else(|| plain.strip_prefix("pub const fn "))
        else {
            continue;
        };
        if depth > 4 || rest.starts_with("serialize") || rest.starts_with("deserialize") {
            continue;
        }
        let name: String = rest
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect();
        let doc: Vec<&str> = lines[..i]
            .iter()
            .rev()
            .map(|line| line.trim_start())
            .take_while(|line| line.starts_with("///") || line.starts_with("#["))
            .collect();
        let doc: Vec<&str> = doc.into_iter().rev().collect();
        let head: String = lines[i..].iter().take(12).copied().collect();
        let fallible = head
            .split('{')
            .next()
            .is_some_and(|signature| signature.contains("Result<"));
        if depth == 4 && !fallible && !doc.contains(&"/// # Formula") {
            continue;
        }
        let path = if depth == 0 {
            format!("{module}::{name}")
        } else {
            format!("{module}::{owner}::{name}")
        };
        all.push(Public {
            path,
            fallible,
            source: source_of(&doc),
        });
    }
    all
}

/// What stands under the heading Source, in one line.
fn source_of(doc: &[&str]) -> String {
    let words: Vec<&str> = doc
        .iter()
        .skip_while(|line| **line != "/// # Source")
        .skip(1)
        .take_while(|line| !line.starts_with("/// #") && line.starts_with("///"))
        .map(|line| line.trim_start_matches("///").trim())
        .filter(|line| !line.is_empty())
        .collect();
    words
        .join(" ")
        .replace(['[', ']', '\\'], "")
        .replace('|', "/")
}

/// The parts of a test file that stand apart, by the names they define.
fn parts(file: &str) -> (Vec<String>, BTreeMap<String, usize>) {
    let path = root().join(format!("tests/reference/{file}.rs"));
    let mut text = fs::read_to_string(&path).unwrap_or_else(|_| panic!("no {file}.rs"));
    // Sets of lives stand in a file of their own.
    if text.contains("super::life_data") {
        let lives = fs::read_to_string(path.with_file_name("life_data.rs")).expect("the lives");
        text.push_str("\n\n");
        text.push_str(&lives);
    }
    let mut all: Vec<String> = Vec::new();
    for part in text.split("\n\n") {
        match all.last_mut() {
            Some(last) if part.starts_with(' ') => {
                last.push_str("\n\n");
                last.push_str(part);
            }
            _ => all.push(part.to_owned()),
        }
    }
    let mut names = BTreeMap::new();
    for (place, part) in all.iter().enumerate() {
        for word in ["fn ", "const ", "static "] {
            for rest in part.split(word).skip(1) {
                let name: String = rest
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                names.entry(name).or_insert(place);
            }
        }
    }
    (all, names)
}

/// A test with all it uses of its own file.
fn reach(test: &str) -> String {
    let (file, name) = test
        .split_once("::")
        .unwrap_or_else(|| panic!("{test} has no file"));
    let (all, names) = parts(file);
    let first = *names.get(name).unwrap_or_else(|| panic!("no test {test}"));
    let mut seen = BTreeSet::from([first]);
    let mut open = vec![first];
    while let Some(place) = open.pop() {
        for word in all[place].split(|c: char| !c.is_alphanumeric() && c != '_') {
            if let Some(&other) = names.get(word)
                && seen.insert(other)
            {
                open.push(other);
            }
        }
    }
    seen.into_iter()
        .map(|place| all[place].as_str())
        .collect::<Vec<_>>()
        .join("\n")
}

#[test]
fn every_public_computation_has_values_from_outside_a_limit_and_a_refusal() {
    let rows = held();
    let public = public();
    let mut wrong = Vec::new();
    for one in &public {
        match rows.iter().filter(|row| row.function == one.path).count() {
            1 => {}
            0 => wrong.push(format!("{} is held by no test", one.path)),
            _ => wrong.push(format!("{} stands twice", one.path)),
        }
    }
    for row in &rows {
        let Some(one) = public.iter().find(|one| one.path == row.function) else {
            wrong.push(format!("{} is no computation", row.function));
            continue;
        };
        let name = row.function.rsplit("::").next().unwrap_or_default();
        let mentions = |text: &str| {
            text.split(|c: char| !c.is_alphanumeric() && c != '_')
                .any(|word| word == name)
        };
        let mut numbers = 0;
        for test in &row.values {
            let text = reach(test);
            if !mentions(&text) {
                wrong.push(format!("{test} does not name {}", row.function));
            }
            if !MARKS.iter().any(|mark| text.contains(mark)) {
                wrong.push(format!("{test} says nowhere where its values come from"));
            }
            numbers += text.matches(|c: char| c.is_ascii_digit()).count();
        }
        if numbers < 3 {
            wrong.push(format!("{} has fewer than three values", row.function));
        }
        if !mentions(&reach(row.limit)) {
            wrong.push(format!("{} does not name {}", row.limit, row.function));
        }
        if one.fallible == row.refused.starts_with('-') {
            wrong.push(format!(
                "{}: refusal and result type disagree",
                row.function
            ));
        }
        if !row.refused.starts_with('-') {
            let text = reach(row.refused);
            let refuses = ["is_err", "unwrap_err", "Err(", ".err()"]
                .iter()
                .any(|word| text.contains(word));
            if !(refuses && mentions(&text)) {
                wrong.push(format!("{} refuses no {}", row.refused, row.function));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn every_computation_a_library_answers_has_a_thousand_random_cases() {
    let text = deviations::text();
    let mut wrong = Vec::new();
    for row in held() {
        if row.random.starts_with('-') {
            continue;
        }
        let cases: usize = random_lines(row.random)
            .iter()
            .map(|begins| {
                let count = text
                    .lines()
                    .find_map(|line| line.strip_prefix(begins))
                    .and_then(|rest| rest.split(' ').next())
                    .and_then(|count| count.parse::<usize>().ok());
                if count.is_none() {
                    wrong.push(format!("{}: no line {begins}", row.function));
                }
                count.unwrap_or(0)
            })
            .sum();
        // Bolt orders exist for twelve lengths only, and all of them are compared.
        if cases < 1_000 && row.function != "tighten::order" {
            wrong.push(format!("{}: only {cases} random cases", row.function));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

/// The table by function, from the lines of the table by topic.
pub fn section(lines: &[&str]) -> String {
    let public = public();
    let mut out = "\n## By function\n\n\
        | function | source | values | at a limit | refused | random cases | largest deviation |\n\
        | --- | --- | --- | --- | --- | --- | --- |\n"
        .to_owned();
    for row in held() {
        let source = public
            .iter()
            .find(|one| one.path == row.function)
            .map_or("", |one| one.source.as_str());
        let (mut cases, mut largest) = (0_usize, 0.0_f64);
        if !row.random.starts_with('-') {
            for begins in random_lines(row.random) {
                let rest = lines
                    .iter()
                    .find_map(|line| line.strip_prefix(begins.as_str()));
                let mut cells = rest.unwrap_or_default().split(" | ");
                cases += cells.next().and_then(|n| n.parse().ok()).unwrap_or(0);
                largest = largest.max(cells.next().and_then(|n| n.parse().ok()).unwrap_or(0.0));
            }
        }
        let random = row.random.strip_prefix("- ");
        let (cases, largest) = random.map_or_else(
            || (cases.to_string(), format!("{largest:.1e}")),
            |why| (format!("none: {why}"), String::new()),
        );
        let refused = row.refused.strip_prefix("- ").unwrap_or(row.refused);
        let _ = writeln!(
            out,
            "| {} | {source} | {} | {} | {refused} | {cases} | {largest} |",
            row.function,
            row.values.join(", "),
            row.limit,
        );
    }
    out
}

#[test]
fn the_table_by_function_is_up_to_date() {
    let text = deviations::text();
    let (by_topic, _) = text.split_once("\n## By function").unwrap_or((&text, ""));
    let lines: Vec<&str> = by_topic.lines().collect();
    assert!(
        text.ends_with(&section(&lines)),
        "DEVIATIONS.md: run the random cases with GAUGEWRIGHT_WRITE_DEVIATIONS=1"
    );
}

/// Edges that are decided, and the test each is decided in.
const EDGES: [(&str, &str); 10] = [
    (
        "zero and negative",
        "nothing_and_less_than_nothing_are_refused_where_they_mean_nothing",
    ),
    ("not a number", "what_is_no_number_is_refused_everywhere"),
    ("huge", "too_much_is_refused_and_never_overflows"),
    ("one point", "one_point_is_taken_for_what_it_is"),
    (
        "collinear stations",
        "stations_in_one_line_tell_straightness_and_not_flatness",
    ),
    (
        "all suspended",
        "when_no_life_has_ended_only_a_bound_is_given",
    ),
    ("ties", "ties_are_settled_the_same_way_each_time"),
    (
        "end of month, leap day",
        "month_ends_and_leap_days_are_kept_by_the_calendar",
    ),
    ("empty fleet", "an_empty_fleet_asks_for_nothing_or_is_named"),
    (
        "stock that expires on the day",
        "stock_that_expires_on_the_day_still_serves_that_day",
    ),
];

/// Laws that every computation of their kind keeps, and the random test each is kept in.
const LAWS: [(&str, &str); 9] = [
    (
        "unit round trips",
        "units::a_value_comes_back_from_every_unit",
    ),
    (
        "monotonicity of units",
        "units::a_larger_value_is_larger_in_every_unit",
    ),
    (
        "monotonicity of the test pressure",
        "pressure_test::a_higher_rating_never_asks_for_less",
    ),
    (
        "monotonicity of cover",
        "ordering::a_higher_service_level_never_asks_for_less",
    ),
    (
        "flatness under tilt and shift",
        "flatness::tilt_and_shift_change_nothing",
    ),
    (
        "passes",
        "tightening::passes_increase_and_end_on_the_target",
    ),
    ("ledger", "lots::the_ledger_of_a_lot_is_never_negative"),
    (
        "projection",
        "stock_projection::the_projection_conserves_kits_with_and_without_orders",
    ),
    (
        "likelihood",
        "weibull::the_likelihood_is_highest_at_the_fit",
    ),
];

#[test]
fn every_edge_and_every_law_has_its_test() {
    for (_, test) in EDGES {
        assert!(
            reach(&format!("edges::{test}")).contains("#[test]"),
            "{test}"
        );
    }
    for (_, test) in LAWS {
        let text = reach(test);
        assert!(
            text.contains("proptest! {") && text.contains("prop_assert"),
            "{test}"
        );
    }
}
