//! Carries the timeline of the invented plant out, through the deeds people do: every record of the
//! demo was allowed, sealed and audited like a real one.

use std::collections::{HashMap, VecDeque};

use rust_decimal::Decimal;
use time::{Date, Duration, OffsetDateTime};

use super::bench::{self, Did};
use super::dice::Dice;
use super::fleet::{Ground, Member};
use super::instruments::Calibrations;
use super::plant::{AREAS, CLASSES, FLUSHED, KITS, PASSWORD, PEOPLE, RE_TORQUED};
use super::storeroom::{self, Ordered};
use super::timeline::{self, Density, Event, Reached, Step};
use crate::acts::{self, Deed, Result, Who};
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{LengthUnit, Stamped, TorqueUnit};
use crate::record::gauge::Standing;
use crate::record::kit::Kit;
use crate::record::moment::{Clock, Zone};
use crate::record::plant::{Plant, ServiceClass};
use crate::record::rebuild::{FailureKind, LookOverFound, Rework};
use crate::record::{
    GaugeId, KitId, LotId, Moment, RebuildId, Refusal, ServiceClassId, TestNumber,
};
use crate::store::{self, Store};

/// Steps a transaction carries out.
const AT_A_TIME: usize = 4_000;

/// The people of the demo, as those who do deeds.
#[derive(Debug, Clone)]
pub struct People {
    /// The reliability engineer.
    pub engineer: Who,
    pub(super) inspector: Who,
    pub(super) storekeeper: Who,
    technicians: [Who; 2],
}

/// Everything the past is made of.
pub struct Past {
    /// Who did it.
    pub people: People,
    /// What the fleet refers to.
    pub ground: Ground,
    /// The fleet.
    pub members: Vec<Member>,
    /// The fleet's rows.
    pub rows: Vec<GaugeId>,
    /// How dense its history is.
    pub density: Density,
}

/// Names the plant and makes its people, areas, service classes, kits and instruments.
///
/// # Errors
/// The store's failure; the plan itself is allowed.
pub async fn ground(deed: &mut Deed, kits: u32) -> Result<(People, Ground)> {
    let hash = acts::people::hash_password(PASSWORD.to_owned()).await?;
    let mut who = HashMap::new();
    for (sign_in, name, role) in PEOPLE {
        let (id, _) = acts::people::add(deed, sign_in, name, *role).await?;
        store::people::set_password(deed.db(), id, &hash).await?;
        let one = Who {
            id: Some(id),
            name: (*name).to_owned(),
            role: Some(*role),
        };
        who.insert(*sign_in, one);
    }
    let one = |sign_in: &str| who.get(sign_in).cloned().unwrap_or_else(Who::program);
    let people = People {
        engineer: one("engineer"),
        inspector: one("inspector"),
        storekeeper: one("storekeeper"),
        technicians: [one("technician"), one("technician2")],
    };
    deed.continue_as(people.engineer.clone(), deed.now());
    acts::plant::settle(deed, &settings()?).await?;
    let mut ground = Ground {
        areas: Vec::new(),
        classes: Vec::new(),
        kits: Vec::new(),
    };
    for area in AREAS {
        ground
            .areas
            .push(acts::plant::add_area(deed, area.name).await?);
    }
    for (at, (name, description, rebuild, look_over)) in CLASSES.iter().enumerate() {
        let class = ServiceClass {
            id: ServiceClassId(0),
            name: (*name).to_owned(),
            description: (*description).to_owned(),
            rebuild_months: Some(*rebuild),
            look_over_months: *look_over,
            defer_months: None,
            re_torque_days: RE_TORQUED
                .iter()
                .find(|(class, _)| *class == at)
                .map(|(_, days)| *days),
            flush: FLUSHED.contains(&at),
            version: 0,
        };
        ground
            .classes
            .push(acts::plant::add_service_class(deed, &class).await?);
    }
    let all = usize::try_from(kits).unwrap_or(0).max(KITS.len());
    for (at, plan) in KITS.iter().cycle().take(all).enumerate() {
        let number = match at / KITS.len() {
            0 => plan.number.to_owned(),
            again => format!("{}-{:03}", plan.number, again + 1),
        };
        let kit = Kit {
            id: KitId(0),
            number: number.parse().map_err(Refusal::NotNow)?,
            name: format!("{} glass {} mm", plan.kind, plan.length),
            kind: plan.kind,
            glass_length_mm: Some(plan.length),
            contents: "glass, seal gasket, cushion gasket for one section side".to_owned(),
            shelf_life_months: plan.shelf_life,
            lead_days: plan.lead,
            pack: plan.pack,
            minimum: plan.minimum,
            version: 0,
        };
        ground.kits.push(acts::kits::add(deed, &kit).await?);
    }
    Ok((people, ground))
}

fn settings() -> Result<Plant> {
    Ok(Plant {
        name: "Saltmarsh Works".to_owned(),
        owner: "Saltmarsh Works (invented)".to_owned(),
        address: "Tidal Road 1, Saltmarsh".to_owned(),
        zone: Zone::named("Etc/UTC").map_err(Refusal::NotNow)?,
        test_code: Code::CommonPractice,
        hold_minutes: 10,
        tightening_step: Stamped::new(Decimal::from(5), TorqueUnit::FootPound),
        flatness_limit: Stamped::new(Decimal::new(2, 3), LengthUnit::Inch),
        wall_limit: Stamped::new(Decimal::new(100, 3), LengthUnit::Inch),
        skim_limit: 2,
        number_prefix: "SW".to_owned(),
        ground: "SW-PT-01 issue 3 (invented)".to_owned(),
        settled_on: None,
        demo: true,
        version: 0,
    })
}

/// Where the rebuild of a gauge stands while the past is carried out.
#[derive(Debug, Clone)]
struct UnderWay {
    rebuild: RebuildId,
    test: Option<TestNumber>,
}

struct Hands<'a> {
    past: &'a Past,
    under_way: HashMap<u32, UnderWay>,
    walls: bench::Walls,
    calibrations: Calibrations,
    orders: VecDeque<Ordered>,
}

impl Past {
    /// Carries everything out, oldest first, and leaves the plant as it stands today.
    ///
    /// # Errors
    /// The store's failure, or a step the register refused: then the plan is at fault.
    pub async fn carry_out(&self, store: &Store, clock: &Clock, now: Moment) -> Result<()> {
        let today = now.at().date();
        let calibrations = self.instruments(store, clock, today).await?;
        let mut events: Vec<Event> = Vec::new();
        for member in &self.members {
            events.extend(timeline::of(member, today, self.density));
        }
        if self.density == Density::Whole {
            self.leave_work_under_way(today, &mut events);
        }
        events.retain(|event| event.at < now.at());
        events.sort_by_key(|event| (event.at, event.gauge));
        let mut hands = Hands {
            past: self,
            under_way: HashMap::new(),
            walls: bench::Walls::default(),
            calibrations,
            orders: storeroom::ordered(today),
        };
        let mut to_come = VecDeque::from(events);
        while !to_come.is_empty() {
            let mut deed = Deed::begin(store, clock, Who::program(), None).await?;
            for _ in 0..AT_A_TIME {
                let Some(event) = to_come.pop_front_if(|event| event.at < now.at()) else {
                    // What waited for a wrench until now is left to the people who try the demo.
                    to_come.clear();
                    break;
                };
                hands
                    .calibrate_until(&mut deed, Moment::new(event.at))
                    .await?;
                hands.order_until(&mut deed, Moment::new(event.at)).await?;
                let did = hands.carry_out(&mut deed, &event).await.map_err(|error| {
                    tracing::error!(%error, ?event, "the plan of the demo was refused");
                    error
                })?;
                if did == Did::Waits {
                    timeline::wait_for_a_wrench(&mut to_come, event);
                }
            }
            deed.commit("").await?;
        }
        let mut deed = Deed::begin(store, clock, Who::program(), None).await?;
        hands.calibrate_until(&mut deed, now).await?;
        hands.order_until(&mut deed, now).await?;
        deed.commit("").await?;
        clock.set(now);
        self.today(store, clock, today).await?;
        if self.density == Density::Whole {
            let people = &self.people;
            super::proofs::leave(store, clock, &people.inspector, &people.engineer).await?;
        }
        Ok(())
    }

    /// A few rebuilds are planned, at the bench and on test; their gauges' last steps are left out.
    fn leave_work_under_way(&self, today: Date, events: &mut Vec<Event>) {
        let reached = [
            Reached::AtTheBench,
            Reached::OnTest,
            Reached::Planned,
            Reached::Planned,
        ];
        let chosen = self
            .members
            .iter()
            .filter(|m| {
                m.particulars.torque.is_some()
                    && m.particulars.isolation == crate::record::gauge::Isolation::InService
            })
            .step_by(23)
            .take(reached.len());
        for (member, reached) in chosen.zip(reached) {
            let quiet_from = timeline::moment(today - Duration::days(160), 0);
            let busy = events.iter().any(|e| {
                e.gauge == member.number && e.at >= quiet_from && e.step != Step::LookOver
            });
            if busy {
                let first = events
                    .iter()
                    .filter(|e| e.gauge == member.number && e.at >= quiet_from)
                    .map(|e| e.at)
                    .min()
                    .unwrap_or(quiet_from);
                // A rebuild that straddles the quiet time would be cut in two; leave such a gauge alone.
                let straddles = events.iter().any(|e| {
                    e.gauge == member.number
                        && e.at >= first
                        && matches!(e.step, Step::Issue | Step::Return)
                });
                if straddles {
                    continue;
                }
            }
            events.extend(timeline::under_way(member, today, reached));
        }
    }

    /// What somebody opening the demo finds today: a leak reported, a deferral signed, two shutdown
    /// windows ahead, resting and retired gauges, and the cases the trade meets.
    async fn today(&self, store: &Store, clock: &Clock, today: Date) -> Result<()> {
        let mut deed = Deed::begin(store, clock, self.people.engineer.clone(), None).await?;
        for (area, name, from, days) in [
            (0, "Boiler outage", 75, 11),
            (2, "Column Hall turnaround", 140, 18),
        ] {
            let agreed = acts::windows::Agreed {
                area: self.ground.areas[area],
                name: name.to_owned(),
                starts_on: today + Duration::days(from),
                ends_on: today + Duration::days(from + days),
                with_rebuilds: false,
            };
            acts::windows::add(&mut deed, &agreed).await?;
        }
        let mut idle: Vec<usize> = Vec::new();
        for (at, row) in self.rows.iter().enumerate() {
            if store::rebuilds::open_of(deed.db(), *row).await?.is_none() {
                idle.push(at);
            }
        }
        let nth = |area: usize, nth: usize| {
            idle.iter()
                .copied()
                .filter(|at| self.members[*at].area == area)
                .nth(nth)
                .map(|at| self.rows[at])
        };
        let leaking = nth(0, 3);
        let resting = [nth(1, 12), nth(2, 9), nth(0, 20)];
        let retired = nth(4, 4);
        if let Some(gauge) = leaking {
            let failure = acts::in_service::Failure {
                kind: FailureKind::Leak,
                seen_on: today,
                note: "drips at the seal gasket, section 2".to_owned(),
            };
            let now = deed.now();
            deed.continue_as(self.people.technicians[0].clone(), now);
            acts::in_service::report_failure(&mut deed, gauge, &failure).await?;
            deed.continue_as(self.people.engineer.clone(), now);
        }
        let brine: Vec<GaugeId> = (2..).map_while(|at| nth(3, at)).collect();
        super::deferred::leave(&mut deed, &self.people, &brine, today).await?;
        for gauge in resting.into_iter().flatten() {
            stand(
                &mut deed,
                gauge,
                Standing::Resting,
                "vessel drained, stands until further notice",
            )
            .await?;
        }
        if let Some(gauge) = retired {
            stand(&mut deed, gauge, Standing::Retired, "vessel taken out").await?;
        }
        let now = deed.now();
        deed.continue_as(self.people.storekeeper.clone(), now);
        bench::near_expiry(&mut deed, self.ground.kits[2], today).await?;
        storeroom::today(&mut deed, self, today).await?;
        deed.commit("").await
    }
}

async fn stand(deed: &mut Deed, gauge: GaugeId, to: Standing, why: &str) -> Result<()> {
    let version = store::gauges::by_id(deed.db(), gauge)
        .await?
        .map_or(0, |g| g.version);
    acts::gauges::change_standing(deed, gauge, version, to, why).await
}

/// What the technician says of a gauge as it is taken to the bench: no windows were agreed then.
fn stands() -> acts::rebuilds::Taking {
    acts::rebuilds::Taking {
        stands: true,
        reason: "the vessel stands on this day, as the plan says".to_owned(),
        looked: true,
    }
}

impl Hands<'_> {
    async fn calibrate_until(&mut self, deed: &mut Deed, moment: Moment) -> Result<()> {
        while let Some((at, id, calibrated)) =
            self.calibrations.pop_front_if(|(at, ..)| *at <= moment)
        {
            deed.continue_as(self.past.people.engineer.clone(), at);
            acts::instruments::calibrate(deed, id, &calibrated).await?;
        }
        Ok(())
    }

    async fn order_until(&mut self, deed: &mut Deed, moment: Moment) -> Result<()> {
        while let Some(order) = self.orders.pop_front_if(|order| order.at <= moment) {
            let keeper = self.past.people.storekeeper.clone();
            storeroom::order(deed, keeper, &order).await?;
        }
        Ok(())
    }

    async fn carry_out(&mut self, deed: &mut Deed, event: &Event) -> Result<Did> {
        let index = usize::try_from(event.gauge).unwrap_or(0);
        let member = &self.past.members[index];
        let gauge = self.past.rows[index];
        let technician = self.past.people.technicians[index % 2].clone();
        deed.continue_as(technician.clone(), Moment::new(event.at));
        match &event.step {
            Step::LookOver => {
                let look_over = acts::in_service::LookOver {
                    on: event.at.date(),
                    found: LookOverFound::Sound,
                    failure: None,
                    note: String::new(),
                };
                acts::in_service::look_over(deed, gauge, &look_over).await?;
            }
            Step::ReTorque => return bench::re_torque(deed, gauge, member).await,
            Step::Fail(kind) => {
                let failure = acts::in_service::Failure {
                    kind: *kind,
                    seen_on: event.at.date(),
                    note: String::new(),
                };
                acts::in_service::report_failure(deed, gauge, &failure).await?;
            }
            Step::Plan(cause) => {
                deed.continue_as(self.past.people.engineer.clone(), Moment::new(event.at));
                let plan = acts::rebuilds::Plan {
                    cause: *cause,
                    planned_for: event.at.date(),
                    note: "vessel stands on that day".to_owned(),
                    stands_anyway: true,
                };
                acts::rebuilds::plan(deed, gauge, &plan).await?;
                if let Some(open) = store::rebuilds::open_of(deed.db(), gauge).await? {
                    self.under_way.insert(
                        event.gauge,
                        UnderWay {
                            rebuild: open.id,
                            test: None,
                        },
                    );
                }
            }
            step => {
                if let Some(under_way) = self.under_way.get(&event.gauge).cloned() {
                    return self
                        .work(deed, (member, gauge), under_way, step, event.at)
                        .await;
                }
            }
        }
        Ok(Did::Done)
    }

    async fn work(
        &mut self,
        deed: &mut Deed,
        (member, gauge): (&Member, GaugeId),
        mut under_way: UnderWay,
        step: &Step,
        at: OffsetDateTime,
    ) -> Result<Did> {
        let id = under_way.rebuild;
        let now = Moment::new(at);
        let seen = bench::seen(deed, id).await?;
        match step {
            Step::Issue => self.issue(deed, member, id, at.date()).await?,
            Step::Start => acts::rebuilds::start(deed, seen, &stands()).await?,
            Step::SendToTest => acts::rebuilds::send_to_test(deed, seen).await?,
            Step::TakeBack => {
                let back = acts::rebuilds::TakeBack {
                    reason: "weeps at the seal gasket of section 1".to_owned(),
                    rework: Rework::Tighten,
                    section: None,
                };
                acts::rebuilds::take_back(deed, seen, &back).await?;
            }
            Step::Test { weeps } => {
                let number = bench::test(deed, gauge, &member.particulars, *weeps).await?;
                under_way.test = Some(number);
                self.under_way.insert(member.number, under_way);
            }
            Step::Witness | Step::Certify => {
                let Some(number) = under_way.test else {
                    return Ok(Did::Done);
                };
                deed.continue_as(self.past.people.inspector.clone(), now);
                if *step == Step::Witness {
                    acts::pressure_tests::witness(deed, number.as_str()).await?;
                } else {
                    let issuing = acts::pressure_tests::Issuing {
                        check_at: None,
                        reason: "return to service after a rebuild",
                    };
                    acts::pressure_tests::certify(deed, number.as_str(), issuing).await?;
                }
            }
            Step::Return => {
                acts::rebuilds::return_to_service(deed, seen, &bench::returning()).await?;
                self.under_way.remove(&member.number);
            }
            _ => return bench::record(deed, id, member, step, &mut self.walls).await,
        }
        Ok(Did::Done)
    }

    /// Issues the kits, after the storekeeper received a lot where the shelf was too empty.
    async fn issue(
        &mut self,
        deed: &mut Deed,
        member: &Member,
        rebuild: RebuildId,
        day: Date,
    ) -> Result<()> {
        let own = member.particulars.kit_id;
        let kit = own.unwrap_or(self.past.ground.kits[member.kit]);
        let plan = &KITS[member.kit];
        let mut needed = u32::from(member.particulars.kits_per_rebuild);
        let mut dice = Dice::new(
            u64::try_from(day.to_julian_day()).unwrap_or(0) * 1000 + u64::from(member.number),
        );
        let now = deed.now();
        let mut lots = bench::usable(deed, kit, day).await?;
        let on_hand: i64 = lots.iter().map(|lot| lot.on_hand).sum();
        if on_hand < i64::from(needed) {
            let technician = deed.who().clone();
            deed.continue_as(self.past.people.storekeeper.clone(), now);
            let expires_on = plan
                .shelf_life
                .map(|months| day + Duration::days(i64::from(months) * 30));
            let receipt = acts::stock::Receipt {
                kit,
                lot: format!(
                    "{}-{:05}-{}",
                    &plan.number[5..],
                    day.to_julian_day() % 100_000,
                    member.number
                )
                .parse()
                .map_err(Refusal::NotNow)?,
                quantity: needed + u32::try_from(dice.between(3, 9)).unwrap_or(3) * plan.pack,
                received_on: day,
                expires_on,
                place: format!("rack {} shelf {}", dice.between(1, 4), dice.between(1, 6)),
            };
            acts::stock::receive(deed, &receipt).await?;
            deed.continue_as(technician, now);
            lots = bench::usable(deed, kit, day).await?;
        }
        for lot in lots {
            if needed == 0 {
                break;
            }
            let take = needed.min(u32::try_from(lot.on_hand).unwrap_or(0));
            issue_some(deed, rebuild, lot.id, take).await?;
            needed -= take;
        }
        Ok(())
    }
}

async fn issue_some(deed: &mut Deed, rebuild: RebuildId, lot: LotId, quantity: u32) -> Result<()> {
    let issue = acts::bench::Issue {
        lot,
        place: None,
        quantity,
        reason: String::new(),
    };
    acts::bench::issue_kits(deed, rebuild, &issue).await
}
