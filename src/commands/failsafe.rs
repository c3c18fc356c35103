//! A fault of ohmward in one design must not take the others with it.

use std::cell::{Cell, RefCell};
use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind, set_hook, take_hook};

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
    static FAULT: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// From here on a panic inside [`guarded`] is kept for it to tell, and not printed.
pub(super) fn keep_panics() {
    let otherwise = take_hook();
    set_hook(Box::new(move |info| {
        if GUARDED.get() {
            FAULT.set(Some(described(info)));
        } else {
            otherwise(info);
        }
    }));
}

fn described(info: &PanicHookInfo<'_>) -> String {
    let payload = info.payload();
    let text = payload.downcast_ref::<&str>().copied();
    let text = text.or_else(|| payload.downcast_ref::<String>().map(String::as_str)).unwrap_or("no text");
    match info.location() {
        Some(place) => format!("{text} at {}:{}", place.file(), place.line()),
        None => text.to_owned(),
    }
}

/// Does the work; where that panics, the text says so and asks to report it.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    let before = GUARDED.replace(true);
    let done = catch_unwind(AssertUnwindSafe(work));
    GUARDED.set(before);
    done.map_err(|_| {
        let fault = FAULT.take().unwrap_or_else(|| "no text".into());
        format!(
            "a fault of ohmward, not of the design: {fault}; a report of it with the design helps to mend it"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tells_a_panic() {
        keep_panics();
        assert_eq!(guarded(|| 1), Ok(1));
        let told = guarded(|| -> u8 { panic!("lost a wire") }).unwrap_err();
        drop(take_hook());
        assert!(told.starts_with("a fault of ohmward, not of the design: lost a wire at src"), "{told}");
    }
}
