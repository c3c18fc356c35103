//! `rules` and `book`: lists, pages, forms, and names that there are not.

use super::Bench;

const OWN: &str = r#"title = "Our yard | invented"
based-on = "common-practice"
[limits]
"distance.battery-bare" = { value = "150 mm", source = "our own standard, invented", confidence = "memory" }
[rules."meter.silent"]
applies = false
source = "nobody here wants it"
[rules."conductor.small"]
severity = "error"
"#;

#[test]
fn lists_every_rule() {
    let ran = Bench::new(&[]).run(&["rules"]).ends(0);
    assert_eq!(ran.err, "");
    for id in ohmward::syntax::words::RULE_IDS {
        assert!(ran.out.lines().any(|line| line.split(' ').next() == Some(id)), "{id} in {}", ran.out);
    }
    assert!(ran.out.lines().all(|line| line.chars().count() <= 80), "{}", ran.out);
    assert!(!ran.out.contains('\u{1b}'));
}

#[test]
fn the_first_part_of_ids_lists_a_group() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["rules", "connection"]).ends(0);
    assert!(
        ran.out.contains("\nconnection.short ") && !ran.out.contains("protection.missing"),
        "{}",
        ran.out
    );
    assert_eq!(bench.run(&["rules", "connection."]).ends(0).out, ran.out);
}

#[test]
fn the_page_of_a_rule() {
    insta::assert_snapshot!(Bench::new(&[]).run(&["rules", "protection.missing"]).ends(0).out);
}

#[test]
fn the_page_of_what_is_not_a_rule_of_the_catalogue() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["rules", "language.unit"]).ends(0);
    assert!(ran.out.contains("error: A figure has no unit"), "{}", ran.out);
    for row in ohmward::rules::not_yet() {
        let ran = bench.run(&["rules", row.id]).ends(0);
        assert!(ran.out.contains("Not judged yet"), "{}", ran.out);
    }
}

#[test]
fn an_unknown_rule_has_its_nearest() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["rules", "protection.mising"]).ends(2);
    assert_eq!(ran.out, "");
    assert!(
        ran.err.starts_with("error: there is no rule protection.mising; the nearest are protection.missing"),
        "{}",
        ran.err
    );
    let ran = bench.run(&["rules", "gibberish"]).ends(2);
    assert!(ran.err.contains("`ohmward rules` lists them all"), "{}", ran.err);
    let ran = bench.run(&["book", "common-practise"]).ends(2);
    assert!(ran.err.contains("no book common-practise; the nearest is common-practice"), "{}", ran.err);
    let ran = bench.run(&["rules", "--book", "none"]).ends(2);
    assert!(ran.err.contains("there is no book none; those that ship are: common-practice"), "{}", ran.err);
}

#[test]
fn a_rule_in_json() {
    let ran = Bench::new(&[]).run(&["rules", "protection.far", "--as", "json"]).ends(0);
    let document = ran.json();
    assert_eq!(document["schema"], 1);
    let rule = &document["rule"];
    assert_eq!(rule["id"], "protection.far");
    assert_eq!(rule["severity"], "error");
    assert_eq!(rule["limits"][0]["name"], "distance.battery-bare");
    assert_eq!(rule["judged"]["findings"][0]["rule"], "protection.far");
    let keys =
        ["\"tool\"", "\"schema\"", "\"id\"", "\"claim\"", "\"why\"", "\"limits\"", "\"good\"", "\"waive\""];
    let places: Vec<_> = keys.iter().map(|key| ran.out.find(key).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    let all = Bench::new(&[]).run(&["rules", "--as", "json"]).ends(0).json();
    assert_eq!(all["rules"]["all"].as_array().unwrap().len(), ohmward::syntax::words::RULE_IDS.len());
}

#[test]
fn pages_in_markdown() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["rules", "protection.missing", "--as", "markdown"]).ends(0);
    assert!(ran.out.starts_with("# protection.missing\n\n**error**: "), "{}", ran.out);
    assert!(ran.out.contains("| `distance.battery-bare` | 180 mm | checked | "), "{}", ran.out);
    bench.run(&["book", "common-practice", "--as", "markdown", "-o", "page.md"]).ends(0);
    let page = std::fs::read_to_string(bench.path("page.md")).unwrap();
    assert!(page.contains("| `distance.battery-sheathed` | 1.8 m * | from memory | "), "{page}");
}

#[test]
fn a_screen_reader_is_told_in_sentences() {
    let bench = Bench::new(&[]);
    let mut command = bench.command(&["book", "common-practice"]);
    let ran = super::Ran::of(command.env("NO_GRAPHICS", "1").output().unwrap()).ends(0);
    assert!(ran.out.contains("\nrings.per-stud: value: 4; known: checked; what it limits: "), "{}", ran.out);
}

#[test]
fn lists_the_books() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["book"]).ends(0);
    let document = bench.run(&["book", "--as", "json"]).ends(0).json();
    for (name, book) in ohmward::book::Book::shipped_names().iter().zip(document["books"].as_array().unwrap())
    {
        assert!(ran.out.contains(&format!("\n{name} ")), "{}", ran.out);
        assert_eq!(book["name"], *name);
        assert!(book["figures"]["memory"].is_u64());
    }
}

#[test]
fn a_book_has_every_limit_with_its_source() {
    let bench = Bench::new(&[]);
    let text = bench.run(&["book", "common-practice"]).ends(0).out;
    let document = bench.run(&["book", "common-practice", "--as", "json"]).ends(0).json();
    let limits = document["book"]["limits"].as_array().unwrap();
    assert_eq!(limits.len(), ohmward::book::Limit::all().count());
    for limit in limits {
        assert!(text.contains(&format!("\n{} ", limit["name"].as_str().unwrap())), "{limit}");
        assert!(!limit["source"].as_str().unwrap().is_empty(), "{limit}");
    }
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    for table in document["book"]["tables"].as_array().unwrap() {
        let n_heads = table["heads"].as_array().unwrap().len();
        let rows = table["rows"].as_array().unwrap();
        assert!(!rows.is_empty(), "{table}");
        for row in rows {
            assert_eq!(row["cells"].as_array().unwrap().len(), n_heads, "{table}");
            assert!(table["source"].is_string() || row["source"].is_string(), "{table}");
        }
    }
}

#[test]
fn a_book_of_ones_own_says_what_differs() {
    let bench = Bench::new(&[("books/yard.toml", OWN.as_bytes())]);
    let text = bench.run(&["book", "books/yard.toml"]).ends(0).out;
    assert!(text.contains("It builds on common-practice"), "{text}");
    let row = text.lines().find(|line| line.starts_with("distance.battery-bare ")).unwrap();
    assert!(
        row.contains("150 mm *") && row.contains("from memory") && row.ends_with("books/yard.toml"),
        "{row}"
    );
    let row = text.lines().find(|line| line.starts_with("bank.link ")).unwrap();
    assert!(row.ends_with("common-practice"), "{row}");
    assert!(text.contains("\nmeter.silent ") && text.contains("nobody here wants it"), "{text}");
    let page = bench.run(&["rules", "meter.silent", "--book", "books/yard.toml"]).ends(0).out;
    assert!(page.contains("Book books/yard.toml switches it off (nobody here wants it)."), "{page}");
    let page = bench.run(&["rules", "conductor.small", "--book", "books/yard.toml"]).ends(0).out;
    assert!(
        page.contains("\nerror: No conductor") && page.contains("the rule by itself is a warning"),
        "{page}"
    );
    let list = bench.run(&["rules", "meter", "--book", "books/yard.toml"]).ends(0).out;
    assert!(list.contains("\nmeter.silent       off "), "{list}");
    let markdown = bench.run(&["book", "books/yard.toml", "--as", "markdown"]).ends(0).out;
    assert!(
        markdown.contains("Our yard \\| invented") || markdown.contains("Our yard | invented."),
        "{markdown}"
    );
}

#[test]
fn what_is_wrong_with_a_book_is_told_with_its_place() {
    let broken = "title = \"Broken\"\nbased-on = \"common-practice\"\n[limits]\n\"bank.lnk\" = { value = \"1 m\", source = \"invented\", confidence = \"memory\" }\n";
    let bench = Bench::new(&[("broken.toml", broken.as_bytes()), ("bytes.toml", b"\xff\xfe")]);
    for arguments in [&["book", "broken.toml"][..], &["rules", "--book", "broken.toml"]] {
        let ran = bench.run(arguments).ends(2);
        assert_eq!(ran.out, "");
        assert!(ran.err.contains("`bank.lnk` is no limit here"), "{}", ran.err);
        assert!(ran.err.contains("at broken.toml:4:1") && ran.err.contains("`bank.link`"), "{}", ran.err);
    }
    assert!(bench.run(&["book", "bytes.toml"]).ends(2).err.contains("it is not UTF-8 text"));
    assert!(bench.run(&["book", "none.toml"]).ends(2).err.contains("none.toml cannot be read"));
    assert!(bench.run(&["book", "."]).ends(2).err.contains(". cannot be read"));
    assert!(bench.run(&["rules", "-o", "no/such/file"]).ends(2).err.contains("cannot be written"));
}
