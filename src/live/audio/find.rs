//! Which sound device is meant: by host and name, or the one the system would take.

use cpal::traits::{DeviceTrait, HostTrait};
use cpal::{HostId, SupportedStreamConfig};

use super::{AudioError, JACK, refused};
use crate::live::plan::SoundNames;

/// ALSA's device that takes sound and makes none. It keeps no time, so nothing can be played along with it.
const NULL: &str = "null";
/// How many devices a message lists.
const MOST_LISTED: usize = 12;

/// A device that was found, by name.
pub struct Found {
    /// The device.
    pub(super) device: cpal::Device,
    /// What its host is called: `alsa`.
    pub host: String,
    /// What it is called.
    pub name: String,
}

impl Found {
    /// In which format it wants its sound; also tells whether it answers at all.
    pub fn format(&self) -> Result<SupportedStreamConfig, AudioError> {
        self.device.default_output_config().map_err(refused("read the device's format"))
    }

    /// Whether it belongs to a JACK server.
    pub fn is_jack(&self) -> bool {
        self.host == JACK
    }
}

/// Finds the output device of these names.
pub fn find(names: &SoundNames) -> Result<Found, AudioError> {
    let host = open_host(names.host.as_deref())?;
    let called = host_name(host.id());
    let Some(wanted) = &names.device else {
        let device = host.default_output_device();
        let missing = || if called == JACK { AudioError::NoServer } else { AudioError::NoDevice };
        let device = device.ok_or_else(missing)?;
        let Named { name, .. } = Named::of(&device);
        return Ok(Found { device, host: called, name });
    };
    let devices = outputs(&host);
    let there: Vec<Named> = devices.iter().map(Named::of).collect();
    let listed = listed(&there);
    let found = chosen(wanted, &there).and_then(|index| devices.into_iter().zip(there).nth(index));
    match found {
        Some((_, Named { id, .. })) if called == "alsa" && id == NULL => Err(AudioError::Null),
        Some((device, Named { name, .. })) => Ok(Found { device, host: called, name }),
        None => Err(AudioError::NotCalled { wanted: wanted.clone(), host: called, there: listed }),
    }
}

fn open_host(name: Option<&str>) -> Result<cpal::Host, AudioError> {
    let Some(name) = name else {
        return Ok(cpal::default_host());
    };
    let host = name.parse::<HostId>().and_then(cpal::host_from_id);
    host.map_err(|_| AudioError::Host { wanted: name.to_owned(), there: host_names().join(", ") })
}

/// The names of the hosts that answer, as they are typed.
pub fn host_names() -> Vec<String> {
    cpal::available_hosts().into_iter().map(host_name).collect()
}

fn host_name(id: HostId) -> String {
    id.to_string().to_lowercase()
}

fn outputs(host: &cpal::Host) -> Vec<cpal::Device> {
    host.output_devices().map(Iterator::collect).unwrap_or_default()
}

/// What a device is called: by people, and by its system.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Named {
    name: String,
    id: String,
}

impl Named {
    fn of(device: &cpal::Device) -> Self {
        let id = device.id().map(|id| id.id().to_owned()).unwrap_or_default();
        let name = device.description().map(|told| told.name().to_owned());
        Self { name: name.unwrap_or_else(|_| id.clone()), id }
    }
}

/// The device that `wanted` means: the one called exactly so, else the first whose name or system name holds it.
fn chosen(wanted: &str, there: &[Named]) -> Option<usize> {
    let wanted = wanted.to_lowercase();
    let texts = |named: &Named| [named.name.to_lowercase(), named.id.to_lowercase()];
    let exactly = there.iter().position(|named| texts(named).contains(&wanted));
    exactly.or_else(|| there.iter().position(|named| texts(named).iter().any(|text| text.contains(&wanted))))
}

/// The devices for a message: the first few, each as it can be typed.
fn listed(there: &[Named]) -> String {
    let usable: Vec<&Named> = there.iter().filter(|named| named.id != NULL).collect();
    if usable.is_empty() {
        return "there is none at all".to_owned();
    }
    let shown = usable.iter().take(MOST_LISTED).map(|named| {
        if named.name == named.id { named.name.clone() } else { format!("{} ({})", named.name, named.id) }
    });
    let more = usable.len().saturating_sub(MOST_LISTED);
    let more = if more > 0 { format!(", and {more} more") } else { String::new() };
    format!("there are: {}{more}", shown.collect::<Vec<_>>().join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn there() -> Vec<Named> {
        let named = |name: &str, id: &str| Named { name: name.to_owned(), id: id.to_owned() };
        vec![
            named("Discard all samples", "null"),
            named("HDA Intel, HDMI 0", "hw:CARD=PCH,DEV=3"),
            named("USB Box", "hw:CARD=Box,DEV=0"),
            named("USB", "hw:CARD=U2,DEV=0"),
        ]
    }

    #[test]
    fn a_part_of_a_name_will_do_and_the_whole_name_goes_first() {
        let check = |wanted, expect| assert_eq!(chosen(wanted, &there()), expect, "{wanted}");
        check("hdmi", Some(1));
        check("usb b", Some(2));
        check("usb", Some(3));
        check("CARD=Box", Some(2));
        check("piano", None);
    }

    #[test]
    fn a_message_lists_what_can_be_typed_and_never_the_null_device() {
        let expect = "there are: HDA Intel, HDMI 0 (hw:CARD=PCH,DEV=3), USB Box (hw:CARD=Box,DEV=0), USB (hw:CARD=U2,DEV=0)";
        assert_eq!(listed(&there()), expect);
        assert_eq!(listed(&there()[..1]), "there is none at all");
        let many: Vec<Named> = (0..20).flat_map(|_| there().into_iter().skip(1)).collect();
        assert!(listed(&many).ends_with(", and 48 more"));
    }

    #[test]
    fn a_host_that_is_not_there_is_met_with_those_that_are() {
        let names = SoundNames { host: Some("gramophone".to_owned()), device: None };
        let message = find(&names).err().map(|error| error.to_string()).expect("no such host");
        assert!(message.starts_with("no sound host is called \"gramophone\""), "{message}");
        assert!(host_names().iter().all(|host| message.contains(host.as_str())), "{message}");
    }
}
