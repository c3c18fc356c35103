//! What is no file, or no text.

use std::fs;

use super::{HEAD, Place};

const GOOD: &str = "design good \"Invented\"\nassume insulation 60 C\nbattery house lifepo4 12 V 200 Ah fault 5 kA full 14.4 V\nload lamp 12 V 60 W\n\
    fuse F1 10 A class-t volts 125 V breaks 20 kA\nwire W1 from house.+ to F1.line 6 mm2 0.1 m red\n\
    wire W2 from F1.load to lamp.+ 6 mm2 1 m red\nwire W3 from lamp.- to house.- 6 mm2 1 m black\n";

#[test]
fn a_folder_in_place_of_a_file() {
    let place = Place::new();
    fs::create_dir(place.path("sub")).unwrap();
    place.check("sub").is(2, "no design (*.loom) in sub", 500);
    fs::create_dir(place.path("x.loom")).unwrap();
    place.check("x.loom").is(2, "no design (*.loom) in x.loom", 500);
    // Among designs, a folder of that name is searched as any other.
    fs::write(place.path("x.loom/good.loom"), GOOD).unwrap();
    place.check(".").is(0, "", 500);
}

#[test]
fn nothing_there() {
    Place::new().check("none.loom").is(2, "none.loom: error: there is no such file", 500);
}

#[cfg(unix)]
#[test]
fn links_and_pipes() {
    use std::os::unix::fs::symlink;
    let place = Place::new();
    symlink("self.loom", place.path("self.loom")).unwrap();
    symlink("gone.loom", place.path("dangling.loom")).unwrap();
    symlink("good.txt", place.path("link.loom")).unwrap();
    fs::write(place.path("good.txt"), GOOD).unwrap();
    place.check("self.loom").is(2, "self.loom: error: ", 500);
    place.check("dangling.loom").is(2, "dangling.loom: error: there is no such file", 500);
    place.check("link.loom").is(0, "", 500);
    let made = std::process::Command::new("mkfifo").arg(place.path("pipe.loom")).status();
    if made.is_ok_and(|status| status.success()) {
        place.check("pipe.loom").is(2, "it is a pipe or a device, not a file", 500);
        fs::write(place.path("user.loom"), format!("{HEAD}use \"pipe.loom\"\n")).unwrap();
        place.check("user.loom").is(2, "it is a pipe or a device, not a file", 800);
    }
    place.check("/dev/null").is(2, "it is a pipe or a device, not a file", 500);
    place.check(".").is(2, "self.loom: error: ", 1500);
}

#[test]
fn bytes_that_are_no_text() {
    for (bytes, words) in [
        (&b"design d \"\xff\xfe\"\n"[..], "it is not UTF-8 text: the byte at offset 10, in line 1"),
        (b"\xff\xfed\x00e\x00s\x00i\x00g\x00n\x00", "it is not UTF-8 text"),
        (b"design d \"t\"\nload\x00 lamp 12 V 5 W\n", "U+0000"),
        (b"", "the file has no statement"),
        (b"\xef\xbb\xbf", "the file has no statement"),
    ] {
        Place::with(bytes).check("it.loom").is(2, words, 1500);
    }
}

#[test]
fn line_ends_and_marks_of_other_systems() {
    for text in
        [GOOD.replace('\n', "\r\n"), format!("\u{feff}{GOOD}"), GOOD.replace(' ', "\t"), GOOD.trim().into()]
    {
        // Nothing but what it leaves open.
        Place::with(&text).check("it.loom").is(0, ": advice: unknown.rating: ", 200);
    }
}
