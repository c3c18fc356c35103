//! A fault of ohmward in one design must not take the others with it.

use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};

thread_local! {
    static FAULT: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// From here on a panic is kept for [`guarded`] to tell, and not printed.
pub(super) fn keep_panics() {
    std::panic::set_hook(Box::new(|info| {
        let payload = info.payload();
        let text = payload.downcast_ref::<&str>().copied();
        let text = text.or_else(|| payload.downcast_ref::<String>().map(String::as_str)).unwrap_or("no text");
        let place = info
            .location()
            .map_or_else(String::new, |place| format!(" at {}:{}", place.file(), place.line()));
        FAULT.with(|fault| *fault.borrow_mut() = Some(format!("{text}{place}")));
    }));
}

/// Does the work; where that panics, the text says so and asks to report it.
pub(super) fn guarded<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| {
        let fault = FAULT.with(|fault| fault.borrow_mut().take()).unwrap_or_else(|| "no text".into());
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
        drop(std::panic::take_hook());
        assert!(told.starts_with("a fault of ohmward, not of the design: lost a wire at src"), "{told}");
    }
}
