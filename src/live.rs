//! Devices.
