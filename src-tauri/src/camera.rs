//! The cameras of this computer, read by the program itself: web views differ in what they let a
//! page see.

use slotkeep_door::{Camera, Cameras};

/// Cameras that are connected to this computer.
pub struct Connected;

#[cfg(target_os = "linux")]
mod linux;

#[cfg(target_os = "linux")]
impl Cameras for Connected {
    fn open(&self) -> Result<Box<dyn Camera>, String> {
        linux::open()
    }
}

#[cfg(not(target_os = "linux"))]
impl Cameras for Connected {
    fn open(&self) -> Result<Box<dyn Camera>, String> {
        Err("On this system the window cannot read a camera. Choose, paste or drop a picture \
             instead, or use a phone."
            .to_owned())
    }
}
