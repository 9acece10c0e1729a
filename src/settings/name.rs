//! The one list of settings.

/// A setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Name {
    /// Currency per hour.
    LabourRate,
    /// What prices are counted in.
    Currency,
    /// Metric or imperial.
    Units,
    /// Tools in the truck.
    Tools,
    /// Own names of tools.
    ToolNames,
    /// Accuracy of one's own meters.
    Meter,
    /// Name for the record.
    Company,
    /// Packs laid over the built-in one.
    Packs,
    /// Folder of the calls.
    Data,
    /// Where calls are usually taken.
    At,
    /// Share of faults that the first visit puts right.
    FirstVisitFix,
    /// Minutes on the way to a site.
    TravelMinutes,
}

/// How a value is written in one line of text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// As it is.
    One,
    /// With commas.
    List,
    /// Folders, separated as the platform separates them in its search path.
    Folders,
    /// `name: value; name: value`.
    Pairs,
}

struct Row {
    name: Name,
    id: &'static str,
    flag: &'static str,
    form: Form,
    about: &'static str,
    example: &'static str,
}

const fn row(
    name: Name,
    id: &'static str,
    flag: &'static str,
    form: Form,
    about: &'static str,
    example: &'static str,
) -> Row {
    Row {
        name,
        id,
        flag,
        form,
        about,
        example,
    }
}

const TABLE: [Row; 12] = [
    row(
        Name::LabourRate,
        "labour-rate",
        "--labour-rate",
        Form::One,
        "what an hour of work costs; turns the price of parts into minutes when the plan compares steps",
        "140",
    ),
    row(
        Name::Currency,
        "currency",
        "--currency",
        Form::One,
        "what prices are counted in",
        "USD",
    ),
    row(
        Name::Units,
        "units",
        "--units",
        Form::One,
        "units that `calc` shows figures in: as-counted, metric, imperial or both",
        "both",
    ),
    row(
        Name::Tools,
        "tools",
        "--tools",
        Form::List,
        "tools in the truck; steps that ask for another are not offered at the gate",
        "multimeter, manual, torch, measuring rule",
    ),
    row(
        Name::ToolNames,
        "tool-names",
        "--tool-names",
        Form::Pairs,
        "your own names of tools, with what tests call them",
        "red meter: multimeter CAT III, low-impedance mode",
    ),
    row(
        Name::Meter,
        "meter",
        "--meter",
        Form::Pairs,
        "accuracy of your meters by unit, as their data sheets give it",
        "V: 0.5 % + 2 x 0.01; Ω: 0.8 % + 3 x 0.1",
    ),
    row(
        Name::Company,
        "company",
        "--company",
        Form::One,
        "name at the head of a record",
        "Example Gates",
    ),
    row(
        Name::Packs,
        "packs",
        "--pack",
        Form::Folders,
        "pack folders laid over the built-in knowledge",
        "my-gates",
    ),
    row(Name::Data, "data", "--data", Form::One, "folder of the calls", "calls"),
    row(
        Name::At,
        "at",
        "--at",
        Form::One,
        "where calls are usually taken: gate or phone",
        "phone",
    ),
    row(
        Name::FirstVisitFix,
        "first-visit-fix",
        "--first-visit-fix",
        Form::One,
        "how many faults in a hundred the first visit puts right",
        "90 %",
    ),
    row(
        Name::TravelMinutes,
        "travel-minutes",
        "--travel-minutes",
        Form::One,
        "minutes on the way to a site",
        "35",
    ),
];

impl Name {
    /// Every setting, in the order in which they are shown.
    pub fn all() -> impl Iterator<Item = Self> {
        TABLE.iter().map(|r| r.name)
    }

    /// The setting of that id.
    #[must_use]
    pub fn of(id: &str) -> Option<Self> {
        TABLE.iter().find(|r| r.id == id).map(|r| r.name)
    }

    /// The id that is nearest to a mistyped one.
    #[must_use]
    pub fn nearest(id: &str) -> Option<&'static str> {
        crate::knowledge::nearest(id, TABLE.iter().map(|r| r.id))
    }

    fn row(self) -> &'static Row {
        &TABLE[self as usize]
    }

    /// Its name in the file.
    #[must_use]
    pub fn id(self) -> &'static str {
        self.row().id
    }

    /// Its flag.
    #[must_use]
    pub fn flag(self) -> &'static str {
        self.row().flag
    }

    /// Its environment variable.
    #[must_use]
    pub fn variable(self) -> String {
        format!("PINTLE_{}", self.id().to_uppercase().replace('-', "_"))
    }

    /// What it is for.
    #[must_use]
    pub fn about(self) -> &'static str {
        self.row().about
    }

    /// A value to learn from.
    #[must_use]
    pub fn example(self) -> &'static str {
        self.row().example
    }

    pub(super) fn form(self) -> Form {
        self.row().form
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_is_in_the_order_of_the_names() {
        for (i, name) in Name::all().enumerate() {
            assert_eq!(name as usize, i, "{}", name.id());
            assert_eq!(Name::of(name.id()), Some(name));
        }
        assert_eq!(Name::LabourRate.variable(), "PINTLE_LABOUR_RATE");
        assert_eq!(Name::nearest("labor-rate"), Some("labour-rate"));
    }
}
