//! Any bytes at all are taken in as a photo or refused, without a panic; what is taken in can be
//! taken in again and stays as it is, and holds none of what cameras write beside the picture.

#![no_main]

use axlewright_store::{PHOTO_PIXELS_MAX, Prepared};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    match Prepared::of(bytes) {
        Err(why) => assert!(!why.to_string().is_empty() && !why.hint().is_empty()),
        Ok(photo) => {
            let file = photo.file();
            assert!(0 < file.width && 0 < file.height);
            assert!(u64::from(file.width) * u64::from(file.height) <= PHOTO_PIXELS_MAX);
            assert_eq!(file.bytes, photo.bytes().len() as u64);
            let again = Prepared::of(photo.bytes()).expect("it was taken in once");
            assert_eq!(again.bytes(), photo.bytes());
        }
    }
});
