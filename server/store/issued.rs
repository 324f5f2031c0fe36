//! Certificates: one by its number, code, hash or paper, the corrections of one, the register of all
//! by the filters an index can serve, and writing them. Who may sign is decided in `acts`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::certificate_mark::Today;
use crate::record::pressure_test::Certificate;
use crate::record::seal::{PublicKey, Seal};
use crate::record::{
    AreaId, CertificateId, CertificateNumber, GaugeId, KeyId, Moment, PersonId, TagNumber, TestId,
    TestNumber,
};

/// One statement with the columns of a whole certificate, and an ending.
macro_rules! certificates {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT c.id AS "id!: CertificateId", c.number AS "number!: CertificateNumber", c.test_id AS "test_id!: TestId",
                 c.issued_by AS "issued_by!: PersonId", c.issued_at AS "issued_at!: Moment", c.record AS "record!: String",
                 c.sha256 AS "sha256!: String", c.signature AS "signature?: String",
                 k.fingerprint AS "fingerprint?: String", k.public_key AS "public_key?: String",
                 (SELECT o.number FROM certificate o WHERE o.id = c.supersedes) AS "supersedes?: CertificateNumber",
                 (SELECT n.number FROM certificate n WHERE n.supersedes = c.id) AS "superseded_by?: CertificateNumber"
               FROM certificate c LEFT JOIN signing_key k ON k.id = c.key_id "#
                + $ending
            $(, $value)*
        )
    };
}

macro_rules! certificate {
    ($row:expr) => {{
        let row = $row;
        let key = row
            .fingerprint
            .zip(row.public_key)
            .map(|(fingerprint, public_key)| PublicKey {
                fingerprint,
                public_key,
            });
        let seal = row
            .signature
            .zip(key)
            .map(|(signature, key)| Seal::new(&row.sha256, &signature, key));
        Certificate {
            id: row.id,
            number: row.number,
            test_id: row.test_id,
            issued_by: row.issued_by,
            issued_at: row.issued_at,
            record: row.record,
            sha256: row.sha256,
            seal,
            supersedes: row.supersedes,
            superseded_by: row.superseded_by,
        }
    }};
}

/// The certificate of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<Certificate>> {
    let row = certificates!("WHERE c.number = ?1", number)
        .fetch_optional(db)
        .await?;
    Ok(row.map(|row| certificate!(row)))
}

/// A certificate by its row.
pub async fn by_id(db: &mut SqliteConnection, id: CertificateId) -> Result<Option<Certificate>> {
    let row = certificates!("WHERE c.id = ?1", id)
        .fetch_optional(db)
        .await?;
    Ok(row.map(|row| certificate!(row)))
}

/// The certificate whose record's hash begins so: with the 15 digits a code stands for, or whole.
pub async fn by_hash(db: &mut SqliteConnection, beginning: &str) -> Result<Option<Certificate>> {
    // "g" sorts after every hexadecimal digit.
    let end = format!("{beginning}g");
    let row = certificates!(
        "WHERE c.sha256 >= ?1 AND c.sha256 < ?2 ORDER BY c.sha256 LIMIT 1",
        beginning,
        end
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| certificate!(row)))
}

/// Every certificate of a test, the first one first: each later one corrects the one before.
pub async fn of_test(db: &mut SqliteConnection, test: TestId) -> Result<Vec<Certificate>> {
    let rows = certificates!("WHERE c.test_id = ?1 ORDER BY c.id", test)
        .fetch_all(db)
        .await?;
    Ok(rows.into_iter().map(|row| certificate!(row)).collect())
}

/// Certificates after a row, in order, for checks and exports that go through all of them.
pub async fn after(
    db: &mut SqliteConnection,
    last: CertificateId,
    most: i64,
) -> Result<Vec<Certificate>> {
    let rows = certificates!("WHERE c.id > ?1 ORDER BY c.id LIMIT ?2", last, most)
        .fetch_all(db)
        .await?;
    Ok(rows.into_iter().map(|row| certificate!(row)).collect())
}

/// The certificates of these rows, in the order of their rows.
pub async fn of_rows(db: &mut SqliteConnection, ids: &[CertificateId]) -> Result<Vec<Certificate>> {
    let list = serde_json::to_string(ids)?;
    let rows = certificates!(
        "WHERE c.id IN (SELECT value FROM json_each(?1)) ORDER BY c.id",
        list
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| certificate!(row)).collect())
}

/// How many certificates were issued in a year: the place of the last one, since none is left out.
pub async fn count_in(db: &mut SqliteConnection, year: i32) -> Result<i64> {
    let last = sqlx::query_scalar!(
        r#"SELECT max(ordinal) AS "last?: i64" FROM certificate WHERE year = ?1"#,
        year
    )
    .fetch_one(db)
    .await?;
    Ok(last.unwrap_or(0))
}

/// A certificate about to be issued.
#[derive(Debug)]
pub struct NewCertificate<'a> {
    /// Its number, the year it counts in and its place in it.
    pub number: (&'a CertificateNumber, i32, i64),
    /// The test it certifies.
    pub test: TestId,
    /// The record as canonical JSON.
    pub record: &'a str,
    /// SHA-256 of the record.
    pub sha256: &'a str,
    /// The certificate it replaces.
    pub supersedes: Option<CertificateId>,
    /// The key and the signature it made.
    pub signed: (KeyId, &'a str),
}

/// Keeps a certificate; the schema refuses a second one of the same test that replaces none.
pub async fn add(
    db: &mut SqliteConnection,
    new: &NewCertificate<'_>,
    person: PersonId,
    now: Moment,
) -> Result<CertificateId> {
    let (number, year, ordinal) = new.number;
    let (key, signature) = new.signed;
    let id = sqlx::query!(
        "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256, supersedes, key_id, signature)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        number,
        year,
        ordinal,
        new.test,
        person,
        now,
        new.record,
        new.sha256,
        new.supersedes,
        key,
        signature
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(CertificateId(id))
}

/// The certificate a paper with this hash was made from, if it was ever handed out, and as what the paper
/// was marked; nothing for the paper as issued.
pub async fn of_paper(
    db: &mut SqliteConnection,
    sha256: &str,
) -> Result<Option<(CertificateId, Option<String>)>> {
    let row = sqlx::query!(
        r#"SELECT certificate_id AS "id: CertificateId", marked FROM certificate_paper WHERE sha256 = ?1"#,
        sha256
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.id, row.marked)))
}

/// Notes that a paper was handed out.
pub async fn add_paper(
    db: &mut SqliteConnection,
    certificate: CertificateId,
    (paper, marked, sha256): (&str, Option<&str>, &str),
    now: Moment,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO certificate_paper (certificate_id, paper, sha256, at, marked) VALUES (?1, ?2, ?3, ?4, ?5)",
        certificate,
        paper,
        sha256,
        now,
        marked
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// Which certificates; of several that name different things, all hold.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only those of gauges with these words in tag, vessel, service, maker or order number.
    pub words: Option<String>,
    /// Only this certificate.
    pub certificate: Option<CertificateId>,
    /// Only those of this gauge.
    pub gauge: Option<GaugeId>,
    /// Only those of gauges in this area.
    pub area: Option<AreaId>,
    /// Only tests from this day on.
    pub from: Option<Date>,
    /// Only tests up to this day.
    pub to: Option<Date>,
    /// Only those that stand as this.
    pub standing: Option<Today>,
    /// Only lines after this one, in the order of the list.
    pub after: Option<CertificateId>,
}

/// A line of the register of certificates.
#[derive(Debug, Clone)]
pub struct Line {
    /// The row.
    pub id: CertificateId,
    /// Its number.
    pub number: CertificateNumber,
    /// The test.
    pub test: TestNumber,
    /// The gauge.
    pub tag: TagNumber,
    /// The vessel it hangs on.
    pub vessel: String,
    /// The area.
    pub area: String,
    /// The day of the test.
    pub tested_on: Date,
    /// The lowest pressure of the hold, as the certificate states it.
    pub applied: String,
    /// When it was issued.
    pub issued_at: Moment,
    /// Who issued it.
    pub issuer: String,
    /// Whether it is signed with a key.
    pub signed: bool,
    /// The certificate that replaced it.
    pub superseded_by: Option<CertificateNumber>,
    /// SHA-256 of its record.
    pub sha256: String,
    /// How it stands.
    pub standing: Today,
}

/// A filter that leaves no more gauges or certificates than this is served from them; one that leaves more
/// finds a page of lines soon enough by walking the days of the tests.
const FEW: i64 = 500;

/// Where the statement of a filter begins, so that no page walks the whole register.
enum Way {
    /// With these certificates, as a JSON list of rows.
    Certificates(String),
    /// With the tests of these gauges, as a JSON list of rows.
    Gauges(String),
    /// With the latest day of all tests.
    Days,
}

/// The way a filter is served: by the narrowest thing it names.
async fn way(db: &mut SqliteConnection, filter: &Filter, words: Option<&str>) -> Result<Way> {
    if let Some(id) = filter.certificate {
        return Ok(Way::Certificates(serde_json::to_string(&[id])?));
    }
    if let Some(id) = filter.gauge {
        return Ok(Way::Gauges(serde_json::to_string(&[id])?));
    }
    // One more than a few tells that there are many.
    let most = FEW + 1;
    let few = |ids: &[i64]| i64::try_from(ids.len()).is_ok_and(|count| count <= FEW);
    if let Some(words) = words {
        let gauges = sqlx::query_scalar!(
            r#"SELECT rowid AS "id!: i64" FROM gauge_words WHERE gauge_words MATCH ?1 LIMIT ?2"#,
            words,
            most
        )
        .fetch_all(&mut *db)
        .await?;
        if few(&gauges) {
            return Ok(Way::Gauges(serde_json::to_string(&gauges)?));
        }
    }
    let marked = match filter.standing {
        None | Some(Today::Stands) => None,
        Some(Today::Superseded) => Some(
            sqlx::query_scalar!(
                r#"SELECT supersedes AS "id!: i64" FROM certificate WHERE supersedes IS NOT NULL LIMIT ?1"#,
                most
            )
            .fetch_all(&mut *db)
            .await?,
        ),
        Some(standing @ (Today::Questioned | Today::Withdrawn)) => Some(
            sqlx::query_scalar!(
                r#"SELECT DISTINCT m.certificate_id AS "id!: i64" FROM certificate_mark m INDEXED BY certificate_mark_kind
                   WHERE m.kind = ?1 AND (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = m.certificate_id) = ?1
                   LIMIT ?2"#,
                standing,
                most
            )
            .fetch_all(&mut *db)
            .await?,
        ),
    };
    if let Some(marked) = marked.filter(|marked| few(marked)) {
        return Ok(Way::Certificates(serde_json::to_string(&marked)?));
    }
    if let Some(area) = filter.area {
        let gauges = sqlx::query_scalar!(
            r#"SELECT id AS "id!: i64" FROM gauge INDEXED BY gauge_by_area WHERE area_id = ?1 LIMIT ?2"#,
            area,
            most
        )
        .fetch_all(db)
        .await?;
        if few(&gauges) {
            return Ok(Way::Gauges(serde_json::to_string(&gauges)?));
        }
    }
    Ok(Way::Days)
}

/// One statement over what a filter leaves: its columns, where it begins, what it joins besides, an ending.
/// Gauges are looked up only where the filter asks for an area.
macro_rules! chosen {
    ($query:ident, $filter:ident, $words:ident, $most:ident, $rows:expr,
     $columns:literal, $from:literal, $joins:literal, $ending:literal) => {
        sqlx::$query!(
            $columns
                + $from
                + $joins
                + r#" WHERE ?1 IS NOT NULL AND (?2 IS NULL OR c.id = ?2) AND (?3 IS NULL OR t.gauge_id = ?3)
                  AND (?4 IS NULL OR ?4 = (SELECT o.area_id FROM gauge o WHERE o.id = t.gauge_id))
                  AND t.tested_on >= coalesce(?5, '') AND t.tested_on <= min(coalesce(?6, '9999-12-31'),
                    coalesce((SELECT o.tested_on FROM certificate b JOIN pressure_test o ON o.id = b.test_id WHERE b.id = ?9), '9999-12-31'))
                  AND (?7 IS NULL OR t.gauge_id IN (SELECT rowid FROM gauge_words WHERE gauge_words MATCH ?7))
                  AND (?8 IS NULL OR ?8 = (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id))
                  AND (?9 IS NULL OR (t.tested_on, t.id, c.id) <
                    (SELECT o.tested_on, o.id, b.id FROM certificate b JOIN pressure_test o ON o.id = b.test_id WHERE b.id = ?9)) "#
                + $ending,
            $rows,
            $filter.certificate,
            $filter.gauge,
            $filter.area,
            $filter.from,
            $filter.to,
            $words,
            $filter.standing,
            $filter.after,
            $most
        )
    };
}

/// Goes on with the statement that begins where the way says.
macro_rules! by_way {
    ($way:expr, $goes_on:ident) => {
        match $way {
            Way::Certificates(rows) => $goes_on!(
                rows,
                "FROM json_each(?1) x CROSS JOIN certificate c ON c.id = x.value JOIN pressure_test t ON t.id = c.test_id"
            ),
            Way::Gauges(rows) => $goes_on!(
                rows,
                "FROM json_each(?1) x CROSS JOIN pressure_test t INDEXED BY pressure_test_gauge ON t.gauge_id = x.value
                 CROSS JOIN certificate c INDEXED BY certificate_of_test ON c.test_id = t.id"
            ),
            Way::Days => $goes_on!(
                "[]",
                "FROM pressure_test t INDEXED BY pressure_test_day
                 CROSS JOIN certificate c INDEXED BY certificate_of_test ON c.test_id = t.id"
            ),
        }
    };
}

/// The register of certificates, the latest test first and of each test the latest certificate, a page at a
/// time.
pub async fn list(db: &mut SqliteConnection, filter: &Filter, most: i64) -> Result<Vec<Line>> {
    let words = filter.words.as_deref().map(super::gauge_list::match_words);
    macro_rules! lines {
        ($rows:expr, $from:literal) => {
            chosen!(
                query,
                filter,
                words,
                most,
                $rows,
                r#"SELECT c.id AS "id!: CertificateId", c.number AS "number!: CertificateNumber", t.number AS "test!: TestNumber",
                     g.tag AS "tag!: TagNumber", g.vessel AS "vessel!: String", a.name AS "area!: String", t.tested_on AS "tested_on!: Date",
                     json_extract(c.record, '$.test.applied.value') || ' ' || json_extract(c.record, '$.test.applied.unit') AS "applied?: String",
                     c.issued_at AS "issued_at!: Moment",
                     p.name AS "issuer!: String", c.signature IS NOT NULL AS "signed!: bool",
                     (SELECT n.number FROM certificate n WHERE n.supersedes = c.id) AS "superseded_by?: CertificateNumber",
                     c.sha256 AS "sha256!: String",
                     (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id) AS "standing!: Today" "#,
                $from,
                " JOIN gauge g ON g.id = t.gauge_id JOIN area a ON a.id = g.area_id
                  JOIN known_as p ON p.person_id = c.issued_by AND p.since <= c.issued_at AND p.until > c.issued_at",
                "ORDER BY t.tested_on DESC, t.id DESC, c.id DESC LIMIT ?10"
            )
            .fetch_all(db)
            .await?
            .into_iter()
            .map(|row| Line {
                id: row.id,
                number: row.number,
                test: row.test,
                tag: row.tag,
                vessel: row.vessel,
                area: row.area,
                tested_on: row.tested_on,
                applied: row.applied.unwrap_or_default(),
                issued_at: row.issued_at,
                issuer: row.issuer,
                signed: row.signed,
                superseded_by: row.superseded_by,
                sha256: row.sha256,
                standing: row.standing,
            })
            .collect()
        };
    }
    Ok(by_way!(way(db, filter, words.as_deref()).await?, lines))
}

/// Counting for a list stops here.
pub const COUNTED: i64 = 1_000;

/// How many certificates the filter leaves, counted up to a number.
pub async fn count(db: &mut SqliteConnection, filter: &Filter, most: i64) -> Result<i64> {
    let words = filter.words.as_deref().map(super::gauge_list::match_words);
    macro_rules! counted {
        ($rows:expr, $from:literal) => {
            chosen!(
                query_scalar,
                filter,
                words,
                most,
                $rows,
                r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 "#,
                $from,
                "",
                "LIMIT ?10)"
            )
            .fetch_one(db)
            .await?
        };
    }
    Ok(by_way!(way(db, filter, words.as_deref()).await?, counted))
}
