//! One order: its lines, what came of it, and the deeds that move it from draft to closed.
//! Receiving has a page of its own; the paper and the spreadsheet are `paper.rs`.

use askama::Template;
use axum::extract::{Path, State};
use rust_decimal::Decimal;
use serde::Deserialize;

use super::found;
use crate::acts;
use crate::acts::orders::{self, Placed};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::order::{Order, OrderLine, OrderState};
use crate::store;
use crate::store::orders::Came;

/// What is typed in any of the page's forms.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    version: i64,
    kit: String,
    quantity: String,
    supplier: String,
    reference: String,
    placed_on: String,
    promised_on: String,
    note: String,
    reason: String,
}

#[derive(Template)]
#[template(path = "orders/show.html")]
struct Page {
    chrome: Chrome,
    order: Order,
    lines: Vec<OrderLine>,
    came: Vec<Came>,
    currency: String,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// Whether it was placed before it was written down here.
    fn late_written(&self) -> bool {
        self.order
            .placed_on
            .is_some_and(|day| day < self.order.made_on)
    }

    async fn of(
        app: &App,
        chrome: Chrome,
        number: &str,
        typed: Option<Typed>,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let order = found(app, number).await?;
        let mut db = app.store().read().await?;
        let typed = typed.unwrap_or_else(|| Typed {
            supplier: order.supplier.clone(),
            placed_on: show::plain_date(&chrome.today),
            ..Typed::default()
        });
        Ok(Self {
            lines: store::orders::lines(&mut db, order.id).await?,
            came: store::orders::came(&mut db, order.id).await?,
            currency: store::needs::rules(&mut db).await?.currency,
            chrome,
            order,
            typed,
            errors,
        })
    }

    /// What does not fit how a kit is sold: packs and least order.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn packing(&self, line: &OrderLine) -> Vec<String> {
        let mut words = Vec::new();
        if line.pack > 1 && line.quantity % line.pack != 0 {
            words.push(format!("sold in packs of {}", line.pack));
        }
        if line.quantity < line.minimum {
            words.push(format!("least order {}", line.minimum));
        }
        words
    }

    fn draft(&self) -> bool {
        self.order.state == OrderState::Draft
    }

    fn placed(&self) -> bool {
        self.order.state == OrderState::Placed
    }

    fn late(&self) -> i64 {
        let late = self
            .lines
            .iter()
            .filter(|line| line.late(self.chrome.today));
        i64::try_from(late.count()).unwrap_or(i64::MAX)
    }

    fn money(&self, value: &Decimal) -> String {
        let rounded = value.round_dp(2);
        format!("{rounded:.2} {}", self.currency).trim().to_owned()
    }

    /// The sum of the lines whose price is known, and how many have none.
    fn value(&self) -> (Decimal, usize) {
        orders::value(&self.lines)
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    answer::page(&Page::of(&app, chrome, &number, None, Errors::none()).await?)
}

/// Does what one of the page's buttons says: "line", "place", "promise" or "withdraw".
pub async fn step(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, step)): Path<(String, String)>,
    posted: Posted<Typed>,
) -> Answer {
    let order = found(&app, &number).await?;
    let done = match read(&step, &posted.form)? {
        Ok(step) => do_one(&chrome, &posted, &order, step)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            answer::refused(&Page::of(&app, chrome, &number, Some(posted.form), errors).await?)
        }
    }
}

/// What a button asks for, read.
enum Step {
    Line(crate::record::KitNumber, u32),
    Place(Placed),
    Promise(crate::record::KitNumber, time::Date),
    Withdraw,
}

fn read(step: &str, t: &Typed) -> Result<Result<Step, Errors>, PageError> {
    let mut read = Reader::new();
    let found = match step {
        "line" => {
            let kit = read.parse("kit", &t.kit);
            let quantity = read.needed_whole("quantity", &t.quantity, 0..=100_000);
            kit.zip(quantity).map(|(kit, many)| Step::Line(kit, many))
        }
        "place" => {
            let on = read.needed_date("placed_on", &t.placed_on);
            let promised_on = read.date("promised_on", &t.promised_on);
            on.map(|on| {
                Step::Place(Placed {
                    supplier: t.supplier.clone(),
                    reference: t.reference.clone(),
                    on,
                    promised_on,
                    note: t.note.clone(),
                })
            })
        }
        "promise" => {
            let kit = read.parse("kit", &t.kit);
            let on = read.needed_date("promised_on", &t.promised_on);
            kit.zip(on).map(|(kit, on)| Step::Promise(kit, on))
        }
        "withdraw" => Some(Step::Withdraw),
        _ => return Err(PageError::NotFound("page")),
    };
    Ok(read.finish(found))
}

async fn do_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    order: &Order,
    step: Step,
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    let (number, typed) = (order.number.as_str(), &posted.form);
    match step {
        Step::Line(kit, many) => {
            orders::change_line(&mut deed, number, typed.version, &kit, many).await?;
        }
        Step::Place(placed) => orders::place(&mut deed, number, typed.version, &placed).await?,
        Step::Promise(kit, on) => {
            orders::promise(&mut deed, number, &kit, on, &typed.reason).await?;
        }
        Step::Withdraw => orders::withdraw(&mut deed, number, typed.version, &typed.reason).await?,
    }
    let to = address::order(&order.number);
    deed.commit(&to).await?;
    Ok(to)
}
