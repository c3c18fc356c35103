//! Generated parts of pages, between `<!-- begin NAME -->` and `<!-- end NAME -->`.

use ohmward::book::{Book, Confidence, FIELDS, Limit, LimitKind};
use ohmward::rules::{self, ALL, MISTAKES};
use ohmward::syntax::words::{self, Bare, BareForm, Form, KindWords, Property};

use crate::tidiness::LAYERS;

/// A page with its generated parts as they are now.
pub(super) fn again(page: &str, text: &str) -> String {
    let (mut new, mut rest) = (String::new(), text);
    while let Some((before, after)) = rest.split_once("\n<!-- begin ") {
        let (name, after) =
            after.split_once(" -->").unwrap_or_else(|| panic!("{page}: a marker is not closed"));
        let end = format!("\n<!-- end {name} -->");
        let (_, after) = after.split_once(&end).unwrap_or_else(|| panic!("{page}: no {end}"));
        new += &format!("{before}\n<!-- begin {name} -->\n\n{}{end}", part(page, name));
        rest = after;
    }
    new + rest
}

fn part(page: &str, name: &str) -> String {
    let reference = words::reference();
    match name {
        "rules" => rules(),
        "language-ids" => {
            let rows = MISTAKES.iter().map(|row| vec![code(row.id), row.says.into()]);
            table(&["id", "holds when"], rows)
        }
        "not-yet" => not_yet(),
        "figures" => figures(),
        "layers" => layers(),
        "statements" => {
            let yes = |is: bool| if is { "yes" } else { "" }.to_owned();
            let rows = reference.statements.iter().map(|row| {
                vec![code(row.word), code(row.form), row.doc.into(), yes(row.in_kit), yes(row.in_library)]
            });
            table(&["statement", "form", "what it does", "in a kit", "in a library"], rows)
        }
        "kinds" => {
            let rows = reference
                .kinds
                .iter()
                .map(|row| vec![code(row.word), row.doc.into(), terminals(row), bares(row.bare)]);
            table(&["kind", "what it is", "terminals", "read without a word before it"], rows)
        }
        "properties" => {
            let rows = reference
                .kinds
                .iter()
                .flat_map(|kind| kind.properties.iter().map(|row| property(kind.word, row)));
            let common = reference.common.iter().map(|row| property("any", row));
            table(&["kind", "property", "what it says"], rows.chain(common))
        }
        "wire" => of_lead(reference.wire),
        "data" => of_lead(reference.data),
        "units" => units(),
        "fixed-words" => fixed_words(),
        "settings" => {
            let rows = reference.settings.iter().map(|row| vec![code(row.0), row.1.phrase().into()]);
            table(&["word", "value"], rows)
        }
        "reserved" => lines_of(words::reserved().iter().map(|word| code(word))),
        "limits" => limits(),
        "house-fields" => house_fields(),
        _ => panic!("{page}: nothing generates {name}"),
    }
}

fn rules() -> String {
    let rows = ALL.iter().map(|rule| {
        let link = format!("[`{}`](rules/REFERENCE.md#{})", rule.id, rule.id.replace('.', ""));
        vec![link, rule.severity.to_string(), rule.claim.into()]
    });
    table(&["rule", "severity", "claim"], rows)
}

fn not_yet() -> String {
    let rows = rules::not_yet().map(|row| vec![code(row.id), row.says.into()]);
    table(&["rule", "what it would judge"], rows)
}

/// How the figures of each book are known. A limit is one figure, a table is one entry.
fn figures() -> String {
    let says = |confidence: Confidence| match confidence {
        Confidence::Checked => "seen in a public text, which is not to say that a paid standard was opened",
        Confidence::Computed => "worked out by a formula that the book names",
        Confidence::Memory => "remembered, not seen: to be confirmed against the current edition",
        Confidence::CommonPractice => "what the trade does, without a published source",
        Confidence::Design => "",
    };
    let meanings =
        Confidence::WORDS.iter().map(|(word, confidence)| vec![code(word), says(*confidence).into()]);
    let rows = Book::shipped_names().into_iter().map(|name| {
        let book = Book::shipped(name).expect("a book that reads");
        let all = book.figures();
        let is_limit = |name: &str| Limit::all().any(|limit| limit.name() == name);
        let of = |word: &str, limits: bool| {
            all.iter().filter(|row| row.1.confidence.word() == word && is_limit(&row.0) == limits).count()
        };
        let known = Confidence::WORDS.iter().map(|(word, _)| {
            let (limits, tables) = (of(word, true), of(word, false));
            let share = 100.0 * (limits + tables) as f64 / all.len() as f64;
            format!("{limits} + {tables}, {share:.0} %")
        });
        let own = all.iter().filter(|row| row.1.book == name).count();
        [code(name)].into_iter().chain(known).chain([format!("{own} of {}", all.len())]).collect()
    });
    let heads =
        ["book", "`checked`", "`computed`", "`memory`", "`common-practice`", "stated in the book itself"];
    format!("{}\n{}", table(&["how it is known", "meaning"], meanings), table(&heads, rows))
}

fn layers() -> String {
    let rows = LAYERS.iter().map(|layer| {
        let may = layer.may.iter().map(|name| code(name)).collect::<Vec<_>>().join(", ");
        let may = if may.is_empty() { "nothing".into() } else { may };
        vec![code(layer.folder), may, layer.not.into()]
    });
    table(&["layer", "may import", "does not know"], rows)
}

fn terminals(kind: &KindWords) -> String {
    if kind.terminals.is_empty() {
        return "one node".into();
    }
    kind.terminals.iter().map(|word| code(word)).collect::<Vec<_>>().join(" ")
}

fn bares(all: &[Bare]) -> String {
    let one = |bare: &Bare| {
        let form = match bare.form {
            BareForm::Quantity(dimension) => dimension.unit().into(),
            BareForm::Words { words, .. } => words.join("` `"),
            BareForm::Colour => "red/yellow".into(),
            BareForm::Thread => "M8".into(),
            BareForm::Studs => "M8 x 6".into(),
        };
        format!("{}: `{form}`", bare.doc)
    };
    all.iter().map(one).collect::<Vec<_>>().join("; ")
}

fn property(kind: &str, row: &Property) -> Vec<String> {
    let mut says = row.doc.to_owned();
    if let Form::Count(most) = row.form {
        says += &format!(", 1 to {most}");
    }
    if row.repeatable {
        says += "; may be repeated";
    }
    vec![code(kind), code(&row.spelling()), says]
}

fn of_lead(kind: &KindWords) -> String {
    let bare = kind.bare.iter().map(|bare| vec![bares(&[*bare]), "without a word before it".into()]);
    let words = kind.properties.iter().map(|row| property("", row)[1..].to_vec());
    table(&["written", "what it says"], bare.chain(words))
}

fn units() -> String {
    let mut rows: Vec<(&str, Vec<String>)> = Vec::new();
    for unit in words::UNITS {
        let what = unit.dimension.phrase();
        match rows.iter_mut().find(|row| row.0 == what) {
            Some(row) => row.1.push(code(unit.word)),
            None => rows.push((what, vec![code(unit.word)])),
        }
    }
    table(&["what", "units"], rows.into_iter().map(|(what, units)| vec![what.into(), units.join(" ")]))
}

fn fixed_words() -> String {
    let lists: [(&str, &[&str]); 12] = [
        ("chemistry of a battery", words::CHEMISTRIES),
        ("type of a fuse", words::FUSE_TYPES),
        ("colour of a wire", words::COLOURS),
        ("after `from` in a charger", words::FEEDS),
        ("after `ends` in a wire", words::ENDINGS),
        ("hardware of a terminal", words::HARDWARE),
        ("after `assume`", words::ASSUMPTIONS),
        ("after `assume strand`", words::STRANDS),
        ("after `assume copper`", words::COATINGS),
        ("state in a mode", words::STATES),
        ("type of a parameter", words::PARAMETER_TYPES),
        ("joins the parts of statements", words::JOINING),
    ];
    let rows = lists.iter().map(|(where_, all)| {
        vec![(*where_).to_owned(), all.iter().map(|word| code(word)).collect::<Vec<_>>().join(" ")]
    });
    table(&["where", "words"], rows)
}

fn limits() -> String {
    let book = super::book();
    let rows = Limit::all().map(|limit| {
        let figure = book.limit_figure(limit).expect("every limit has a value");
        let value = match limit.kind() {
            LimitKind::Word => format!("{} (of {})", figure.value_text, limit.words().join(", ")),
            _ => figure.value_text,
        };
        vec![code(&limit.name()), value, figure.confidence.word().into(), limit.doc().into()]
    });
    table(&["limit", "common-practice", "known", "what it limits"], rows)
}

fn house_fields() -> String {
    let rows = FIELDS.iter().map(|row| {
        let of = row.elements().into_iter().map(code).collect::<Vec<_>>().join(" ");
        let unit = if row.unit().is_empty() { String::new() } else { format!(" in {}", row.unit()) };
        vec![code(row.name), of, format!("{}{unit}", row.holds.word()), row.meaning.into()]
    });
    table(&["field", "of", "holds", "meaning"], rows)
}

fn code(word: &str) -> String {
    format!("`{}`", cell(word))
}

/// A text as it may stand in a cell.
pub(super) fn cell(text: &str) -> String {
    text.replace('|', "\\|").replace('\n', " ")
}

fn table(heads: &[&str], rows: impl Iterator<Item = Vec<String>>) -> String {
    let line = |cells: &[String]| format!("| {} |\n", cells.join(" | "));
    let heads: Vec<String> = heads.iter().map(|head| (*head).to_owned()).collect();
    let rules: Vec<String> = heads.iter().map(|_| "---".to_owned()).collect();
    rows.fold(line(&heads) + &line(&rules), |table, row| table + &line(&row))
}

/// Words in lines of about a hundred columns.
fn lines_of(all: impl Iterator<Item = String>) -> String {
    let (mut text, mut width) = (String::new(), 0);
    for word in all {
        if width + word.len() > 100 {
            text.push('\n');
            width = 0;
        } else if width > 0 {
            text.push(' ');
        }
        width += word.len() + 1;
        text += &word;
    }
    text + "\n"
}
