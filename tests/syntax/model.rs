//! What a right text says.

use ohmward::design::{
    Body, Chemistry, Claim, Colour, Demand, Ending, Feed, FuseType, Hardware, Kind, LimitValue, Measured,
    ModeState, SettingValue, TerminalRole,
};
use ohmward::units::{Current, Gauge, Length, Power, Size, Voltage};

use super::{design, headed, loaded, shown};

const WAGTAIL: &str = include_str!("wagtail.loom");

#[test]
fn the_small_design_of_the_language_page_is_read_whole() {
    let wagtail = design(WAGTAIL);
    assert_eq!(
        (wagtail.name.as_str(), wagtail.title.as_str()),
        ("wagtail", "Mobile library: engine charging for the reading lights")
    );
    assert_eq!(wagtail.book.as_ref().map(|book| book.0.as_str()), Some("common-practice"));
    assert_eq!(wagtail.assume.ambient.map(|one| one.as_celsius()), Some(30.0));
    assert_eq!(wagtail.assume.insulation.map(|one| one.as_celsius()), Some(105.0));
    let counts = [
        wagtail.zones.len(),
        wagtail.components.len(),
        wagtail.wires.len(),
        wagtail.joints.len(),
        wagtail.modes.len(),
        wagtail.expects.len(),
    ];
    assert_eq!(counts, [1, 12, 13, 2, 2, 1]);
    let by_name = |name: &str| wagtail.components.iter().find(|one| one.name == name).expect("a component");
    let Body::Battery(house) = &by_name("house").body else { panic!("a battery") };
    assert_eq!(house.nominal, Voltage::volts(12.0));
    assert_eq!(house.chemistry, Some(Chemistry::Lifepo4));
    assert_eq!(house.fault, Some(Current::amps(5000.0)));
    assert_eq!(house.capacity.map(|one| one.as_amp_hours()), Some(200.0));
    let Body::Charger(booster) = &by_name("booster").body else { panic!("a charger") };
    assert_eq!((booster.feed, booster.common, booster.outputs), (Feed::Dc, false, 1));
    assert_eq!(
        (booster.input_current, booster.output_current),
        (Some(Current::amps(30.0)), Current::amps(25.0))
    );
    let Body::Fuse(fuse) = &by_name("F3").body else { panic!("a fuse") };
    assert_eq!((fuse.kind, fuse.volts), (Some(FuseType::ClassT), Some(Voltage::volts(125.0))));
    assert_eq!(fuse.breaks.first().map(|one| one.current), Some(Current::amps(20_000.0)));
    let Body::Bar(bar) = &by_name("plus-bar").body else { panic!("a bar") };
    assert_eq!((bar.thread, bar.studs, bar.rating), (Some(8.0), Some(6), Some(Current::amps(250.0))));
    let Body::Meter(meter) = &by_name("tally").body else { panic!("a meter") };
    assert_eq!(
        meter.counts.iter().map(|id| wagtail.components[*id].name.as_str()).collect::<Vec<_>>(),
        ["house"]
    );
    assert_eq!(meter.drop, Some(Voltage::volts(0.05)));
    let first = wagtail.wires.iter().next().expect("a wire");
    assert_eq!(first.zones.len(), 1);
    assert_eq!(wagtail.terminal_name(first.from.terminal), "crank.+");
    assert_eq!(
        (first.size, first.length),
        (Size::Metric(ohmward::units::Area::mm2(10.0)), Length::metres(0.15))
    );
    assert_eq!(first.colour.map(|one| one.base), Some(Colour::Red));
    let driving = wagtail.modes.iter().next().expect("a mode");
    assert_eq!(driving.title.as_deref(), Some("engine running"));
    let states: Vec<ModeState> = driving.lines.iter().map(|line| line.state).collect();
    assert_eq!(
        states,
        [
            ModeState::Voltage(Voltage::volts(14.2)),
            ModeState::Voltage(Voltage::volts(13.3)),
            ModeState::On,
            ModeState::Off
        ]
    );
    assert!(
        matches!(wagtail.expects[0].claim, Claim::Reads { current, .. } if current == Current::amps(25.0))
    );
}

#[test]
fn the_order_of_statements_is_kept_and_unique() {
    let wagtail = design(WAGTAIL);
    let mut orders: Vec<u32> = wagtail.components.iter().map(|one| one.place.order).collect();
    orders.extend(wagtail.wires.iter().map(|one| one.place.order));
    orders.extend(wagtail.joints.iter().map(|one| one.place.order));
    orders.extend(wagtail.modes.iter().map(|one| one.place.order));
    let n_orders = orders.len();
    orders.sort_unstable();
    orders.dedup();
    assert_eq!(orders.len(), n_orders);
    let wires: Vec<u32> = wagtail.wires.iter().map(|one| one.place.order).collect();
    assert!(wires.is_sorted());
}

#[test]
fn quantities_are_read_with_and_without_space() {
    let text = headed(
        "post a\npost b\n\
         wire W1 from a to b 35mm² 7 in red/yellow count 2 ends ring-M8 tab-6.3\n\
         wire W2 from a to b 2/0AWG 150mm insulation 194 F solid\n\
         wire W3 from a to b 14 SAE 3ft\n\
         assume contact 50 µohm\n",
    );
    let design = design(&text);
    let wires: Vec<_> = design.wires.iter().collect();
    assert_eq!(wires[0].size, Size::Metric(ohmward::units::Area::mm2(35.0)));
    assert!((wires[0].length.as_metres() - 0.1778).abs() < 1e-12);
    assert_eq!((wires[0].count, wires[0].ends), (2, Some((Ending::Ring(8.0), Ending::Tab(6.3)))));
    assert_eq!(wires[0].colour.and_then(|one| one.tracer), Some(Colour::Yellow));
    assert_eq!(wires[1].size, Size::Awg(Gauge(-1)));
    assert!((wires[1].insulation.map_or(0.0, |one| one.as_celsius()) - 90.0).abs() < 1e-9);
    assert_eq!(wires[2].size, Size::Sae(Gauge(14)));
    assert!((design.assume.contact.map_or(0.0, |one| one.as_ohms()) - 50e-6).abs() < 1e-12);
}

#[test]
fn words_that_look_like_units_are_properties_where_they_stand() {
    let design = design(&headed(
        "charger c outputs 2 in 12 V 30 A out 12 V 20 A isolated efficiency 88 % in-max 60 V\n\
         charger m from ac out 24 V 15 A \"shore\"\n\
         battery b 12 V\nbattery b2 12V agm cold-cutoff\nmeter t 300 A 50 mV counts b b2 \"main meter\"\n\
         bolt c.out1+ to b.+\nbolt c.out2+ to b2.+\n\
         fuse F 40 A strip breaks 2 kA at 32 V breaks 1 kA at 58 V volts 58 V holder 100 A\n",
    ));
    let mut components = design.components.iter();
    let Some(Body::Charger(charger)) = components.next().map(|one| &one.body) else { panic!("a charger") };
    assert_eq!((charger.outputs, charger.input_current), (2, Some(Current::amps(30.0))));
    assert_eq!(charger.efficiency.map(|one| one.as_percent()), Some(88.0));
    let shore = components.next().expect("a charger");
    assert_eq!(shore.label.as_deref(), Some("shore"));
    let roles: Vec<TerminalRole> = shore.terminals(&design).map(|row| row.1).collect();
    assert_eq!(
        roles,
        [TerminalRole::OutPlus, TerminalRole::OutMinus, TerminalRole::Enable, TerminalRole::Data]
    );
    let Some(Body::Fuse(fuse)) = design.components.iter().last().map(|one| &one.body) else {
        panic!("a fuse")
    };
    assert_eq!(fuse.breaks.len(), 2);
    assert_eq!(fuse.breaks[1].at, Some(Voltage::volts(58.0)));
}

#[test]
fn parts_give_defaults_and_hardware() {
    let design = design(&headed(
        "fuse F1 = holder-40 40 A\nload l = lamp 2 A\n\
         part holder-40 is fuse 30 A blade volts 32 V breaks 1 kA {\n  terminal line load stud M8 12 Nm\n}\n\
         part lamp is load 12 V 60 W critical \"lamp\"\n\
         part dc is charger in 12 V out 12 V 30 A common {\n  terminal in+ in- screw 2.5 mm2 to 16 mm2 1.6 Nm strip 12 mm\n  terminal enable pin\n  terminal data tab 6.3\n}\n\
         charger c = dc isolated\n",
    ));
    let all: Vec<_> = design.components.iter().collect();
    let Body::Fuse(fuse) = &all[0].body else { panic!("a fuse") };
    assert_eq!((fuse.rating, fuse.kind), (Current::amps(40.0), Some(FuseType::Blade)));
    assert_eq!(all[0].hardware.len(), 2);
    assert!(
        matches!(all[0].hardware[0], (TerminalRole::Line, Hardware::Stud { thread, torque: Some(_) }) if thread == 8.0)
    );
    let Body::Load(load) = &all[1].body else { panic!("a load") };
    assert_eq!((load.demand, load.critical), (Some(Demand::Current(Current::amps(2.0))), true));
    assert_eq!(all[1].label.as_deref(), Some("lamp"));
    let Body::Charger(charger) = &all[2].body else { panic!("a charger") };
    assert!(!charger.common);
    assert_eq!(all[2].hardware.len(), 4);
    assert_eq!(all[2].part.as_deref(), Some("dc"));
}

#[test]
fn every_other_statement_is_resolved() {
    let design = design(&headed(
        "book \"books/mine.toml\"\n\
         limit distance.battery-bare 150 mm because \"client's standard\"\n\
         limit protection.ratio 150 % because \"x\"\nlimit rings.per-stud 3 because \"x\"\nlimit cranking.restarts yes because \"x\"\nlimit temperature.lowest -20 C because \"x\"\n\
         battery b 12 V \\\n  100 Ah # goes on\nload pump 12 V 5 A case frame\nchassis frame\nbar r M8 x 4\nmeter t 100 A 50 mV\nswitch s 100 A main\nswitch s2 100 A pair s\n\
         hub h 2 W\nfuse F 10 A blade on r.2\n\
         wire w1 from b.- to t.bat 10 mm2 1 m black\nwire w2 from t.sys to r.3 10 mm2 1 m black\n\
         data d1 from t.data to h.data 2 m 0.25 mm2 isolated\n\
         bundle loom w1 w2\nstack r.1 w1 w2\nset b absorption 14.2 V\nset pump speed 3 of 5\nset t \"x\"\n"
            .replace("set t \"x\"\n", "").as_str(),
    ));
    assert_eq!(design.book.as_ref().map(|book| book.0.as_str()), Some("books/mine.toml"));
    let values: Vec<&LimitValue> = design.limits.iter().map(|one| &one.value).collect();
    assert!(matches!(values[0], LimitValue::Length(length) if (length.as_metres() - 0.15).abs() < 1e-12));
    assert!(matches!(values[1], LimitValue::Share(share) if (share.as_ratio() - 1.5).abs() < 1e-12));
    assert!(matches!(values[2], LimitValue::Number(number) if *number == 3.0));
    assert!(matches!(values[3], LimitValue::Word(word) if word == "yes"));
    assert!(matches!(values[4], LimitValue::Temperature(_)));
    let joint = &design.joints[0];
    assert!(joint.by_on);
    assert_eq!((joint.b.stud, design.terminal_name(joint.a.terminal).as_str()), (Some(2), "F.line"));
    assert_eq!(design.bundles[0].wires.len(), 2);
    assert_eq!((design.stacks[0].node.stud, design.stacks[0].wires.len()), (Some(1), 2));
    assert_eq!(design.settings[0].value, SettingValue::Voltage(Voltage::volts(14.2)));
    assert_eq!(design.settings[1].value, SettingValue::Other("3 of 5".into()));
    assert!(design.data.iter().all(|one| one.isolated && one.size.is_some()));
    let switch = design.components.iter().find(|one| one.name == "s2").expect("a switch");
    assert!(matches!(&switch.body, Body::Switch(switch) if switch.pair.is_some()));
}

#[test]
fn claims_and_readings_and_waivers() {
    let design = design(&headed(
        "battery b 12 V\nmeter t 100 A 50 mV\npost p M8\nwire w from b.+ to p 10 mm2 1 m\nload l 12 V 5 W\nswitch s 10 A\n\
         mode m {\n  b 12.6 V\n  l 40 W\n  s open\n}\n\
         expect t reads -5 A within 0.5 A in m\nexpect w carries 0 A within 1 A in m\nexpect p above 12.1 V in m\nexpect b.+ below 15 V in m\n\
         reading t -4.8 A in m on 2026-10-01 by \"A \\\"B\\\" C\"\nreading p 12.4 V in m on 2026-10-02\nreading b.+ to p 50 mV in m on 2026-10-02\n\
         note w \"see # here\"\nnote d \"the whole\"\n\
         waive return.bypass on w because \"x\" until 2027-03-31\nwaive unknown.rating on d until 2027-03-31 because \"y\"\nwaive conductor.small on line:12 because \"z\" until 2027-03-31\n",
    ));
    assert!(
        matches!(design.expects[0].claim, Claim::Reads { current, .. } if current == Current::amps(-5.0))
    );
    assert!(matches!(design.expects[3].claim, Claim::Below(..)));
    assert_eq!(design.readings[0].by.as_deref(), Some("A \"B\" C"));
    assert!(matches!(design.readings[2].measured, Measured::Drop(..)));
    assert_eq!(design.notes[0].text, "see # here");
    let subjects: Vec<&str> = design.waivers.iter().map(|one| one.subject.as_str()).collect();
    assert_eq!(subjects, ["w", "d", "line:12"]);
    let mode = design.modes.iter().next().expect("a mode");
    assert_eq!(mode.lines[1].state, ModeState::Power(Power::watts(40.0)));
    assert_eq!(mode.lines[2].state, ModeState::Open);
}

#[test]
fn line_ends_marks_and_comments_do_not_matter() {
    let crlf = format!("\u{feff}{}", WAGTAIL.replace('\n', "\r\n"));
    assert_eq!(design(&crlf).wires.len(), 13);
    let commented: String = WAGTAIL.lines().map(|line| format!("  {line} # \"a{{\n\n")).collect();
    let commented = commented.replace("{ # \"a{", "{ # {");
    assert_eq!(design(&commented).wires.len(), 13);
    assert_eq!(design(WAGTAIL.trim_end()).wires.len(), 13);
}

#[test]
fn the_table_agrees_with_the_model() {
    let reference = ohmward::syntax::reference();
    let kinds: Vec<&str> = reference.kinds.iter().map(|kind| kind.word).collect();
    assert_eq!(kinds, Kind::ALL.map(Kind::word));
    assert_eq!(ohmward::syntax::words::COLOURS, Colour::WORDS.map(|row| row.0));
    assert_eq!(ohmward::syntax::words::CHEMISTRIES, Chemistry::WORDS.map(|row| row.0));
    assert_eq!(ohmward::syntax::words::FUSE_TYPES, FuseType::WORDS.map(|row| row.0));
    assert!(ohmward::syntax::words::RULE_IDS.is_sorted());
    let docs = reference.kinds.iter().flat_map(|kind| kind.properties.iter().map(|row| row.doc));
    assert!(
        docs.chain(reference.statements.iter().map(|row| row.doc))
            .all(|doc| !doc.is_empty() && !doc.ends_with('.'))
    );
}

#[test]
fn a_library_by_itself_is_no_fault() {
    let loaded = loaded("library parts \"Parts\"\npart f is fuse 10 A blade\n");
    assert_eq!(shown(&loaded), "");
    assert!(loaded.library && loaded.design.is_none());
    assert_eq!(loaded.name.as_deref(), Some("parts"));
}
