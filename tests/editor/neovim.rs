//! A general-purpose editor with its built-in client, without a screen.

use std::process::{Command, Stdio};

use super::sample;

#[test]
fn neovim_shows_what_is_found() {
    let must_run = std::env::var("CI").is_ok_and(|ci| ci == "true");
    let found = Command::new("nvim").arg("--version").output().is_ok_and(|output| output.status.success());
    assert!(found || !must_run, "nvim is needed");
    if !found {
        println!("skipped: nvim is not installed");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let (design, told) = (folder.path().join("a.loom"), folder.path().join("told"));
    std::fs::write(&design, sample("faults/protection.missing.loom")).unwrap();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/editor/neovim.lua");
    let mut nvim = Command::new("nvim")
        .args(["--headless", "--clean", "-n", "-c", &format!("luafile {script}"), "-c", "qall!"])
        .env("OHMWARD", env!("CARGO_BIN_EXE_ohmward"))
        .env("DESIGN", &design)
        .env("TOLD", &told)
        .env("XDG_STATE_HOME", folder.path())
        .env("XDG_DATA_HOME", folder.path())
        .env("XDG_CACHE_HOME", folder.path())
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let until = std::time::Instant::now() + std::time::Duration::from_secs(120);
    while nvim.try_wait().unwrap().is_none() {
        if until < std::time::Instant::now() {
            nvim.kill().unwrap();
            panic!("nvim does not end; it was told: {}", std::fs::read_to_string(&told).unwrap_or_default());
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let output = nvim.wait_with_output().unwrap();
    let told = std::fs::read_to_string(&told).unwrap_or_default();
    let (told, text) = told.split_once("on ").unwrap_or((&told, ""));
    let wanted = "6:6 protection.missing W1 runs from B.+ with no protective device\n--\n\
        6:6 language.syntax `Fä` is not a name\n--\n--\n";
    assert_eq!(told, wanted, "{}", String::from_utf8_lossy(&output.stderr));
    let (word, text) = text.split_once('\n').unwrap_or((text, ""));
    assert_eq!(word, "lamp");
    assert!(text.starts_with("# ä 𝄞\n") && text.contains("\nload "), "{text}");
    assert_eq!(ohmward::tidy::laid_out(text), text);
}
