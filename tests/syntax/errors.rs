//! Mistakes: each told once, at the word itself, with the right form.

use super::{check, headed, loaded, shown};

const SYNTAX: &str = "language.syntax";
const WORD: &str = "language.word";
const UNIT: &str = "language.unit";
const NAME: &str = "language.name";
const MISSING: &str = "language.missing";

/// Holds the one problem of a design's second line and on.
fn one(lines: &str, id: &str, line: u32, under: &str, help: &str) {
    check(&headed(lines), &[(id, line, under, help)]);
}

#[test]
fn words_name_the_nearest_right_one() {
    one("wier W1 from a to a 10 mm2 1 m\npost a\n", WORD, 2, "wier", "`wire`");
    one("batery b 12 V\nbolt b.+ to p\npost p\n", WORD, 2, "batery", "`battery`");
    one("zzzzzz b 12 V\nbolt b.+ to p\npost p\n", WORD, 2, "zzzzzz", "begins with its word");
    one("load l 12 V 5 W criticl\n", WORD, 2, "criticl", "`critical`");
    one("battery b 12 V lifepo5\n", WORD, 2, "lifepo5", "`lifepo4`");
    one("battery b 12 V polarised\n", WORD, 2, "polarised", "belongs to `breaker`");
    one("battery b 12 V volts 32 V\n", WORD, 2, "volts", "belongs to `fuse`, `breaker`");
    one("wire w from a to a 10 mm2 1 m red/yelow\npost a\n", WORD, 2, "red/yelow", "`red/yellow`");
    one("load l 12 V 5 W critical critical\n", WORD, 2, "critical", "keep one");
    one("fuse f 40 A 50 A\n", WORD, 2, "50 A", "keep one");
    one("load l 12 V 5 W 2 A\n", WORD, 2, "2 A", "keep one");
    one("charger c in 12 V out 12 V 30 A isolated common\n", WORD, 2, "common", "keep one");
    one("charger c from ac in 12 V out 12 V 30 A\n", WORD, 2, "in", "`from ac`");
    one("charger c from sun out 12 V 30 A isolated\n", WORD, 2, "sun", "`solar`");
    one("part p is fuze 40 A\n", WORD, 2, "fuze", "`fuse`");
    one("assume strand class-3\n", WORD, 2, "class-3", "`class-2`");
    one("assume ambient 30 C\nassume ambient 20 C\n", WORD, 3, "ambient", "keep one");
    one(
        "post p\nwaive return.bypas on p because \"x\" until 2027-01-01\n",
        WORD,
        3,
        "return.bypas",
        "`return.bypass`",
    );
    one("load l 12 V 5 W\nmode m {\n l onn\n}\n", WORD, 4, "onn", "`on`");
    one("battery b 12 V\nmode m {\n b open\n}\n", WORD, 4, "open", "13.1 V");
    one("wire w form a to a 10 mm2 1 m\npost a\n", WORD, 2, "form", "`from`");
    one("part p is load 12 V zone z\nzone z ambient 30 C\n", WORD, 2, "zone", "in the component");
}

#[test]
fn units_show_the_right_form() {
    one("fuse f 40 blade\n", UNIT, 2, "40", "`40 A`");
    one("fuse f 40\n", UNIT, 2, "40", "`40 A`");
    one("fuse f 40 amps\n", UNIT, 2, "amps", "`40 A`");
    one("fuse f 40 a\n", UNIT, 2, "a", "`40 A`");
    one("fuse f 40 V blade\n", UNIT, 2, "40 V", "after `volts`");
    one("battery b 12 V fault 5 V\n", UNIT, 2, "5 V", "`fault 5 A`");
    one("battery b 12 V fault 5\n", UNIT, 2, "5", "`fault 5 A`");
    one("fuse f 7,5 A blade\n", UNIT, 2, "7,5", "`7.5 A`");
    one("fuse f 1e2 A blade\n", UNIT, 2, "1e2", "`100 A`");
    one("wire w from a to a 10 mm2 1/2 in\npost a\n", UNIT, 2, "1/2", "written out: `0.5");
    one("wire w from a to a AWG 6 1 m\npost a\n", UNIT, 2, "AWG", "`6 AWG`");
    one("fuse f 0 A blade\n", UNIT, 2, "0 A", "above zero");
    one("fuse f -5 A blade\n", UNIT, 2, "-5 A", "above zero");
    one("fuse f 9999999 A\n", UNIT, 2, "9999999 A", "1000000 A");
    one("post a\nwire w from a to a 35 mm 2 m red\n", UNIT, 3, "35 mm", "`35 mm2` if 35 is the area");
    one("post a\nwire w from a to a 5 AWG2 2 m\n", UNIT, 3, "AWG2", "`5 AWG`");
    one("post a\nwire w from a to a 15 SAE 2 m\n", UNIT, 3, "15 SAE", "18, 16, 14");
    one("post a\nwire w from a to a 2/0 mm2 2 m\n", UNIT, 3, "2/0 mm2", "2/0 AWG");
    one("post a\nwire w from a to a 10 mm2 1.2.3 m\n", UNIT, 3, "1.2.3 m", "1.5 m");
    one("post a\nwire w from a to a 10 mm2 2 m count 0\n", UNIT, 3, "0", "from 1 to");
    one("post a\nwire w from a to a 10 mm2 2 m count 1.5\n", UNIT, 3, "1.5", "whole number");
    one("charger c in 12 V out 12 V 30 A isolated efficiency 120 %\n", UNIT, 2, "120 %", "100 %");
    one("zone z ambient 30\n", UNIT, 2, "30", "`ambient 30 C`");
    one("zone z ambient 30 °C\n", UNIT, 2, "°C", "`ambient 30 C`");
    one(
        "post p\nwaive return.bypass on p because \"x\" until 2027-02-30\n",
        UNIT,
        3,
        "2027-02-30",
        "year, month and day",
    );
    one("battery b 12 V\nset b absorption 14 A\n", UNIT, 3, "14 A", "`absorption 14 V`");
    one("post a\nwire w from a to a 10 mm2 400000 m\n", UNIT, 3, "400000 m", "100000 m");
}

#[test]
fn names_are_declared_once_and_known() {
    one("post p\nbar p\n", NAME, 3, "p", "another name");
    one("fuse load 40 A\nbolt load.line to p\npost p\n", NAME, 2, "load", "no word of the language");
    one("post p\nbolt house.+ to p\nbattery huose 12 V\n", NAME, 3, "house", "`huose`");
    one("post p\nbattery house 12 V\nbolt house.plus to p\n", NAME, 4, "plus", "`house.+`");
    one("post p\nfuse f 40 A\nbolt f.in to p\n", NAME, 4, "in", "`f.line`");
    one("post p\nbattery house 12 V\nbolt house to p\n", NAME, 4, "house", "`house.+`");
    one("post p\nbar b M8 x 4\nbolt b.5 to p\n", NAME, 4, "5", "`b.4`");
    one("post p\nbar b M8 x 4\nbolt b.+ to p\n", NAME, 4, "+", "one node");
    one("post p\nbar b\nbolt p.1 to b.77\n", NAME, 4, "1", "one node");
    one("post p\nzone z ambient 30 C\nbolt z to p\n", NAME, 4, "z", "a component");
    one("post p\nload l 12 V 5 W returns p\n", NAME, 3, "p", "a chassis");
    one("load l 12 V 5 W zone attic\n", NAME, 2, "attic", "nothing in this design");
    one("battery b 12 V\nload l 12 V 1 W\nmeter t 10 A counts b l\n", NAME, 4, "l", "not both");
    one(
        "battery b 12 V\nload l 12 V 1 W\ndata d from b.data to l.+ 1 m\n",
        NAME,
        4,
        "+",
        "have a `data` terminal",
    );
    one("switch s 10 A pair s\n", NAME, 2, "s", "the other `switch`");
    one("fuse f = holder 40 A\npart holdr is fuse blade\n", NAME, 2, "holder", "`holdr`");
    one("fuse f = p 40 A\npart p is load 12 V\n", NAME, 2, "p", "`load f = p`");
    one("post p\nmeter t 1 A\nexpect p reads 1 A within 1 A in m\nmode m {\n}\n", NAME, 4, "p", "a meter");
    one("charger c from ac out 12 V 30 A\npost p\nbolt c.in+ to p\n", NAME, 4, "in+", "`out+`");
    one("part f is fuse 40 A {\n terminal lin stud M8\n}\n", NAME, 3, "lin", "`line`");
    one("post p\nnote q \"x\"\n", NAME, 3, "q", "nothing in this design");
    one("fit nokit as n\n", NAME, 2, "nokit", "no kit is declared");
}

#[test]
fn malformed_lines_are_told_where_they_break() {
    check("", &[(SYNTAX, 1, "", "`design NAME \"title\"`")]);
    check("# only\n", &[(SYNTAX, 1, "#", "`design NAME \"title\"`")]);
    check("post p\n", &[(SYNTAX, 1, "post", "`design NAME \"title\"`")]);
    check("desing d \"t\"\npost p\n", &[(WORD, 1, "desing", "`design`")]);
    one("design e \"t\"\n", SYNTAX, 2, "design", "one, as its first statement");
    one("note p \"abc # d\npost p\n", SYNTAX, 2, "\"abc # d", "close it");
    one("note p \"a\\nb\"\npost p\n", SYNTAX, 2, "\\", "`\\\\`");
    one("wire W1 to a.+\n", SYNTAX, 2, "to", "wire NAME from");
    one("wire W1 from to a 10 mm2 1 m\n", SYNTAX, 2, "to", "wire NAME from");
    one("wire from a to a 10 mm2 1 m\npost a\n", SYNTAX, 2, "from", "wire NAME from");
    one("fuse 40 A blade\n", SYNTAX, 2, "40", "fuse NAME");
    one("load 12v-pump 12 V 5 W\n", SYNTAX, 2, "12v-pump", "a letter");
    one("load pum!p 12 V 5 W\n", SYNTAX, 2, "!", "take it out");
    one("load pum@p 12 V 5 W\n", SYNTAX, 2, "pum@p", "a letter");
    one("load küche 12 V 5 W\n", SYNTAX, 2, "küche", "a letter");
    one("post p\nbolt p to p p\n", SYNTAX, 3, "p", "begins a line of its own");
    one("post p }\n", SYNTAX, 2, "}", "on a line of its own");
    one("}\n", SYNTAX, 2, "}", "take it out");
    one("mode m {\n", SYNTAX, 2, "{", "close it");
    one("mode m {\nload l 12 V 5 W\n", SYNTAX, 2, "{", "close it");
    one("post p {\n}\n", SYNTAX, 2, "{", "`mode`, `kit` and `part`");
    one("mode m\n", SYNTAX, 2, "mode", "mode NAME");
    one("load l 12 V\nmode m { l on }\n", SYNTAX, 3, "{", "on a line of its own");
    one("post\u{a0}p\n", SYNTAX, 2, "\u{a0}", "a plain space");
    one("post p\u{0}q\n", SYNTAX, 2, "\u{0}", "no control characters");
    one("post p # \u{7}\n", SYNTAX, 2, "\u{7}", "no control characters");
    one("load l 12 V $x\n", NAME, 2, "$x", "write the value");
    one("post p\nwaive return.bypass on p because \"x\"\n", SYNTAX, 3, "\"x\"", "until DATE");
    one("limit a.b 3 \"x\"\n", UNIT, 2, "3", "`3 m`");
}

#[test]
fn required_figures_are_told_together() {
    one("battery b lifepo4\n", MISSING, 2, "b", "`12 V`");
    one("alternator a 12 V\n", MISSING, 2, "a", "A`");
    one("supply s 12 V\n", MISSING, 2, "s", "fused");
    one("solar s voc 40 V\n", MISSING, 2, "s", "isc");
    one("charger c in 12 V\n", MISSING, 2, "c", "`isolated` or `common`");
    one("fuse f blade\n", MISSING, 2, "f", "A`");
    one("breaker f polarised\n", MISSING, 2, "f", "A`");
    one("post a\nwire w from a to a red\n", MISSING, 3, "w", "`10 mm2` and");
    one("post a\nwire w from a to a 4 m red\n", MISSING, 3, "w", "`10 mm2`");
}

#[test]
fn all_mistakes_of_a_file_are_told_in_one_run() {
    check(
        &headed(
            "wier W1 from house.+ to nowhere 10 mm2 1 m rde\n\
             battery house lifepo4 12 V 200 Ah falt 5 kA\n\
             fuse F1 40 balde\n\
             bolt F1.lod to house.+\n\
             load pump 12 V 60 W\n\
             load pump 12 V 60 W\n\
             mode m {\n  pump onn\n  pmup off\n}\n",
        ),
        &[
            (WORD, 2, "wier", "`wire`"),
            (NAME, 2, "nowhere", "nothing"),
            (WORD, 2, "rde", "`red`"),
            (WORD, 3, "falt", "`fault`"),
            (UNIT, 4, "40", "`40 A`"),
            (WORD, 4, "balde", "`blade`"),
            (NAME, 7, "pump", "another name"),
            (WORD, 9, "onn", "`on`"),
            (NAME, 10, "pmup", "`pump`"),
        ],
    );
}

#[test]
fn the_subject_is_the_element_or_its_line() {
    let loaded = loaded(&headed("fuse F1 40\n\nuse 5\n"));
    let subjects: Vec<&str> = loaded.problems.iter().map(|one| one.subject.as_str()).collect();
    assert_eq!(subjects, ["F1", "line:4"], "{}", shown(&loaded));
}
