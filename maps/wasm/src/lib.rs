//! The solver for a web page: three functions, JSON in, JSON out.
//!
//! WebAssembly passes numbers alone, so texts travel as addresses in the module's memory. That needs `unsafe`, which the
//! library itself forbids; it is kept to this file. The caller asks [`reserve`] for room, writes a request there, calls
//! [`answer`], reads the reply, and gives each piece back by [`release`].

use std::{alloc::Layout, ptr, slice, sync::LazyLock};

use azimark::live::Session;

/// What is kept from one request to the next.
static SESSION: LazyLock<Session> = LazyLock::new(Session::default);

/// Room for `length` bytes; null where there is none.
#[unsafe(no_mangle)]
pub extern "C" fn reserve(length: usize) -> *mut u8 {
    match Layout::array::<u8>(length) {
        // SAFETY: the layout's size is not zero.
        Ok(layout) if length > 0 => unsafe { std::alloc::alloc(layout) },
        _ => ptr::null_mut(),
    }
}

/// Gives back what [`reserve`] or [`answer`] gave.
///
/// # Safety
/// `at` and `length` are those of one piece that was not given back yet.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn release(at: *mut u8, length: usize) {
    if let Ok(layout) = Layout::array::<u8>(length)
        && !at.is_null()
        && length > 0
    {
        // SAFETY: the caller says that this piece came from the same allocator with the same layout.
        unsafe { std::alloc::dealloc(at, layout) }
    }
}

/// Answers the request at `at` ([`Session::reply`]). The result is the address of the reply in the upper 32 bits and its
/// length in the lower ones.
///
/// # Safety
/// `length` bytes can be read at `at`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn answer(at: *const u8, length: usize) -> u64 {
    // SAFETY: the caller says so.
    let bytes = if at.is_null() { &[] } else { unsafe { slice::from_raw_parts(at, length) } };
    let reply = SESSION.reply(&String::from_utf8_lossy(bytes)).into_bytes().into_boxed_slice();
    let length = reply.len();
    // A box of bytes has the layout that `release` uses.
    let at = Box::into_raw(reply).cast::<u8>() as usize;
    ((at as u64) << 32) | length as u64
}
