//! A handover workbook: the open exchange of what was built, sheet by sheet (Facility, Space, Zone, Type, Component,
//! System, Job). Its heating and hot water units become a list like any other; what its sheets say against each other
//! is told and never settled by a guess.
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::files::{SheetText, headed};
use super::problem::Code;
use super::reading::{Sheet, SheetRow};

/// What a handover says that cannot all be right, or that nobody should take as it stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fault {
    /// A system of one home lists a unit whose space lies in another.
    SystemAndZoneDisagree,
    /// The life a unit is expected to have is no longer than its warranty.
    LifeImplausible,
    /// Dates are text.
    DateAsText,
    /// One cell names two spaces.
    TwoSpacesInOneCell,
    /// Sums are not in pounds.
    CurrencyForeign,
    /// Jobs of one name, told apart by their task number only.
    JobNameDoubled,
    /// How often is said in words, or not at all.
    FrequencyUnreadable,
    /// The columns of other programs' names are headed in two ways.
    IdentitySpelledTwoWays,
    /// "n/a" stands where nothing is known.
    NotApplicableAsEmpty,
}

impl Fault {
    /// The code of the import contract it falls under.
    pub const fn code(self) -> Code {
        match self {
            Self::SystemAndZoneDisagree => Code::ContradictsRecord,
            Self::LifeImplausible | Self::FrequencyUnreadable => Code::NumberUnreadable,
            Self::DateAsText => Code::DateUnreadable,
            Self::TwoSpacesInOneCell => Code::PlaceUnknown,
            Self::CurrencyForeign => Code::MoneyUnreadable,
            Self::JobNameDoubled => Code::RowDoubled,
            Self::IdentitySpelledTwoWays => Code::KindUnknown,
            Self::NotApplicableAsEmpty => Code::RequiredMissing,
        }
    }
}

/// One fault, where it first stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// Which.
    pub fault: Fault,
    /// Its code.
    pub code: Code,
    /// The sheet.
    pub sheet: String,
    /// The first row.
    pub row: u32,
    /// The column's heading.
    pub column: String,
    /// What stands there.
    pub value: String,
    /// How many rows.
    pub rows: u32,
    /// What it means for the register.
    pub sentence: String,
}

/// The units of a handover.
#[derive(Debug)]
pub struct Found {
    /// A list of units as text, each in the row it has on the sheet Component.
    pub text: String,
    /// What the sheets say against each other.
    pub findings: Vec<Finding>,
}

/// Words by which a type is told to be one of heating or hot water.
const OURS: [&str; 10] = [
    "boiler",
    "heat generator",
    "heat interface",
    "heat exchanger",
    "pump",
    "water heater",
    "cylinder",
    "thermal store",
    "expansion vessel",
    "immersion",
];

/// One sheet of the workbook with its columns by name.
struct Table(Sheet);

impl Table {
    fn of(sheets: &[SheetText], name: &str) -> Option<Self> {
        let found = sheets.iter().find(|s| s.name == name)?;
        headed(&found.text, name).ok().map(Self)
    }

    fn cell<'a>(&self, row: &'a SheetRow, column: &str) -> &'a str {
        let place = self.0.headings.iter().position(|h| h == column);
        let cell = place.map_or("", |p| row.cell(p));
        if is_nothing(cell) { "" } else { cell }
    }

    fn finding(&self, fault: Fault, (row, column): (u32, &str), value: &str) -> Finding {
        Finding {
            fault,
            code: fault.code(),
            sheet: self.0.title.clone(),
            row,
            column: column.to_owned(),
            value: value.to_owned(),
            rows: 1,
            sentence: String::new(),
        }
    }
}

fn is_nothing(cell: &str) -> bool {
    cell.eq_ignore_ascii_case("n/a")
}

/// Everything that is read of a handover.
struct Handover {
    facility: Table,
    zones: Option<Table>,
    types: Table,
    components: Table,
    systems: Option<Table>,
    jobs: Option<Table>,
}

/// The units of a workbook that is a handover; `None` when it is none.
pub fn units_of(sheets: &[SheetText]) -> Option<Found> {
    let all = Handover {
        facility: Table::of(sheets, "Facility")?,
        zones: Table::of(sheets, "Zone"),
        types: Table::of(sheets, "Type")?,
        components: Table::of(sheets, "Component")?,
        systems: Table::of(sheets, "System"),
        jobs: Table::of(sheets, "Job"),
    };
    let ours = all.our_types();
    let mut findings = all.against_each_other(&ours);
    findings.extend(all.of_dates());
    findings.extend(all.two_spaces());
    findings.extend(all.of_money_and_jobs());
    findings.extend(identities(sheets));
    findings.extend(all.not_applicable());
    Some(Found {
        text: all.text(&ours),
        findings,
    })
}

impl Handover {
    /// The types of heating and hot water, by name, with the row of each.
    fn our_types(&self) -> BTreeMap<String, u32> {
        let rows = self.types.0.rows.iter().filter_map(|row| {
            let name = self.types.cell(row, "Name");
            let said = format!("{name} {}", self.types.cell(row, "Category")).to_lowercase();
            let ours = OURS.iter().any(|word| said.contains(word));
            (ours && !name.is_empty()).then(|| (name.to_owned(), row.number))
        });
        rows.collect()
    }

    /// The zones (homes) by the spaces they hold.
    fn homes(&self) -> BTreeMap<&str, &str> {
        let Some(zones) = &self.zones else {
            return BTreeMap::new();
        };
        let mut homes = BTreeMap::new();
        for row in &zones.0.rows {
            for space in zones.cell(row, "SpaceNames").split(',') {
                homes.insert(space.trim(), zones.cell(row, "Name"));
            }
        }
        homes
    }

    /// The first space a component's cell names.
    fn space<'a>(&self, row: &'a SheetRow) -> &'a str {
        let cell = self.components.cell(row, "Space");
        cell.split(',').next().unwrap_or("").trim()
    }

    /// The list of units, a blank line for each row that is none of ours.
    fn text(&self, ours: &BTreeMap<String, u32>) -> String {
        let homes = self.homes();
        let building = self
            .facility
            .0
            .rows
            .first()
            .map_or("", |row| self.facility.cell(row, "Name"));
        let mut text = "Building,Flat or space,Kind of unit,Serial,Fitted,Note\n".to_owned();
        let mut line = 1;
        for row in &self.components.0.rows {
            let kind = self.components.cell(row, "TypeName");
            if !ours.contains_key(kind) || row.number <= line {
                continue;
            }
            while line + 1 < row.number {
                text.push('\n');
                line += 1;
            }
            let space = self.space(row);
            let cells = [
                building,
                homes.get(space).copied().unwrap_or(space),
                kind,
                self.components.cell(row, "SerialNumber"),
                self.components.cell(row, "InstallationDate"),
            ];
            let name = self.components.cell(row, "Name");
            let quoted: Vec<String> = cells
                .into_iter()
                .map(str::to_owned)
                .chain([format!("{name}, in {space}")])
                .map(|cell| format!("\"{}\"", cell.replace('"', "\"\"")))
                .collect();
            text.push_str(&quoted.join(","));
            text.push('\n');
            line += 1;
        }
        text
    }

    /// A system's home against the home of the space its unit stands in; a life against a warranty.
    fn against_each_other(&self, ours: &BTreeMap<String, u32>) -> Vec<Finding> {
        let homes = self.homes();
        let mut findings = Vec::new();
        let stands: BTreeMap<&str, &str> = self
            .components
            .0
            .rows
            .iter()
            .filter(|row| ours.contains_key(self.components.cell(row, "TypeName")))
            .map(|row| (self.components.cell(row, "Name"), self.space(row)))
            .collect();
        let systems = self
            .systems
            .iter()
            .flat_map(|t| t.0.rows.iter().map(move |r| (t, r)));
        for (table, row) in systems {
            let (system, unit) = (table.cell(row, "Name"), table.cell(row, "ComponentNames"));
            let named = homes.values().copied().find(|home| {
                system
                    .strip_prefix(*home)
                    .is_some_and(|rest| rest.starts_with(' '))
            });
            let place = stands.get(unit).copied();
            let home = place.and_then(|space| homes.get(space).copied());
            if let (Some(named), Some(home), Some(place)) = (named, home, place)
                && named != home
            {
                let at = (row.number, "ComponentNames");
                findings.push(Finding {
                    sentence: format!(
                        "The system “{system}” lists {unit}, which stands in {place} of {home}. The list takes {home}; look which it heats before you bring it in."
                    ),
                    ..table.finding(Fault::SystemAndZoneDisagree, at, unit)
                });
            }
        }
        for row in &self.types.0.rows {
            let (life, warranty) = (
                self.types.cell(row, "ExpectedLife"),
                self.types.cell(row, "WarrantyDurationParts"),
            );
            let number = |text: &str| text.parse::<f64>().ok();
            if let (true, Some(years), Some(warranted)) = (
                ours.contains_key(self.types.cell(row, "Name")),
                number(life),
                number(warranty),
            ) && years <= warranted
            {
                let at = (row.number, "ExpectedLife");
                findings.push(Finding {
                    sentence: format!(
                        "A life of {life} years, no longer than its warranty of {warranty}, is not plausible. It is not taken over: ask who handed over."
                    ),
                    ..self.types.finding(Fault::LifeImplausible, at, life)
                });
            }
        }
        findings
    }

    /// Dates that are text: with a "T" between day and hour, which no date of a sheet has.
    fn of_dates(&self) -> Option<Finding> {
        let column = "InstallationDate";
        let text = |row: &&SheetRow| {
            let cell = self.components.cell(row, column);
            cell.get(10..11) == Some("T")
        };
        let rows: Vec<&SheetRow> = self.components.0.rows.iter().filter(text).collect();
        let first = rows.first()?;
        let value = self.components.cell(first, column);
        Some(Finding {
            rows: rows.len() as u32,
            sentence: "Dates are text here, not dates of a sheet. They are read year, month, day; the hour is left out."
                .to_owned(),
            ..self
                .components
                .finding(Fault::DateAsText, (first.number, column), value)
        })
    }

    /// Every component whose cell names two spaces.
    fn two_spaces(&self) -> Vec<Finding> {
        let rows = self.components.0.rows.iter();
        rows.filter_map(|row| {
            let cell = self.components.cell(row, "Space");
            cell.contains(',').then(|| Finding {
                sentence: "One cell names two spaces, and a unit stands in one. Say which on the unit's page."
                    .to_owned(),
                ..self
                    .components
                    .finding(Fault::TwoSpacesInOneCell, (row.number, "Space"), cell)
            })
        })
        .collect()
    }

    fn of_money_and_jobs(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        for row in &self.facility.0.rows {
            let said = self.facility.cell(row, "CurrencyUnit");
            let pounds = ["pound", "pounds", "gbp", "£", ""];
            if !pounds.contains(&said.to_lowercase().as_str()) {
                let at = (row.number, "CurrencyUnit");
                findings.push(Finding {
                    sentence: "Sums of this workbook are not in pounds, so none is taken over."
                        .to_owned(),
                    ..self.facility.finding(Fault::CurrencyForeign, at, said)
                });
            }
        }
        let Some(jobs) = &self.jobs else {
            return findings;
        };
        let (mut names, mut often) = (BTreeMap::new(), BTreeMap::new());
        for row in &jobs.0.rows {
            let gather = |all: &mut BTreeMap<String, Vec<u32>>, key: &str| {
                all.entry(key.to_owned()).or_default().push(row.number);
            };
            gather(&mut names, jobs.cell(row, "Name"));
            let (number, unit) = (jobs.cell(row, "Frequency"), jobs.cell(row, "FrequencyUnit"));
            if number.parse::<f64>().is_err() {
                let said = if unit.is_empty() { "n/a" } else { unit };
                gather(&mut often, said);
            }
        }
        for (name, rows) in names.iter().filter(|(_, rows)| rows.len() > 1) {
            let first = rows.first().copied().unwrap_or(0);
            findings.push(Finding {
                rows: rows.len() as u32,
                sentence: "Several jobs bear this name and only their task numbers tell them apart. No job is taken over: duties come from the kind of unit."
                    .to_owned(),
                ..jobs.finding(Fault::JobNameDoubled, (first, "Name"), name)
            });
        }
        for (said, rows) in &often {
            let first = rows.first().copied().unwrap_or(0);
            findings.push(Finding {
                rows: rows.len() as u32,
                sentence: "How often is not said in numbers, so no date follows from it."
                    .to_owned(),
                ..jobs.finding(Fault::FrequencyUnreadable, (first, "Frequency"), said)
            });
        }
        findings
    }

    /// "n/a" among the components.
    fn not_applicable(&self) -> Option<Finding> {
        let has = |row: &&SheetRow| row.cells.iter().any(|cell| is_nothing(cell));
        let rows: Vec<&SheetRow> = self.components.0.rows.iter().filter(has).collect();
        let first = rows.first()?;
        let place = first.cells.iter().position(|cell| is_nothing(cell))?;
        let column = self.components.0.name(place);
        Some(Finding {
            rows: rows.len() as u32,
            sentence: "“n/a” is read as nothing known.".to_owned(),
            ..self.components.finding(
                Fault::NotApplicableAsEmpty,
                (first.number, column.as_str()),
                first.cell(place),
            )
        })
    }
}

/// Sheets that head the columns of other programs' names one way, and sheets that do it the other way.
fn identities(sheets: &[SheetText]) -> Option<Finding> {
    let with = |name: &str| -> Vec<(&str, u32)> {
        sheets
            .iter()
            .filter_map(|sheet| {
                let list = headed(&sheet.text, &sheet.name).ok()?;
                let has = list.headings.iter().any(|h| h == name);
                has.then_some((sheet.name.as_str(), list.heading_row))
            })
            .collect()
    };
    let (long, short) = (with("ExternalSystem"), with("ExtSystem"));
    let (sheet, row) = long.first().copied()?;
    short.first()?;
    Some(Finding {
        fault: Fault::IdentitySpelledTwoWays,
        code: Fault::IdentitySpelledTwoWays.code(),
        sheet: sheet.to_owned(),
        row,
        column: "ExternalSystem".to_owned(),
        value: "ExternalSystem, ExtSystem".to_owned(),
        rows: long.len() as u32,
        sentence: format!(
            "{} sheets head the names that other programs use “ExternalSystem”, {} head them “ExtSystem”. They are read as one.",
            long.len(),
            short.len()
        ),
    })
}
