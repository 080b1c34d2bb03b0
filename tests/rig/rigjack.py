"""A small JACK client over ctypes: needs libjack and nothing else.

Used by send_midi.py and record. Works against jackd and, under pw-jack, against PipeWire.
Two clocks meet here: JACK's own microseconds (jackd: read as CLOCK_MONOTONIC_RAW; PipeWire:
CLOCK_MONOTONIC) and CLOCK_MONOTONIC, on which every time is given too.
"""
import ctypes as C
import gc
import time

AUDIO, MIDI = b"32 bit float mono audio", b"8 bit raw midi"
IS_INPUT, IS_OUTPUT = 1, 2
PROCESS = C.CFUNCTYPE(C.c_int, C.c_uint32, C.c_void_p)
XRUN = C.CFUNCTYPE(C.c_int, C.c_void_p)
SHUTDOWN = C.CFUNCTYPE(None, C.c_void_p)

_SIGNATURES = {  # name: (result, arguments); P is any pointer
    "client_open": ("P", "siP"), "client_close": ("i", "P"), "activate": ("i", "P"),
    "deactivate": ("i", "P"), "set_process_callback": ("i", "PPP"), "set_xrun_callback": ("i", "PPP"),
    "on_shutdown": ("v", "PPP"), "port_register": ("P", "Pssul"), "port_get_buffer": ("P", "Pu"),
    "port_connected": ("i", "P"), "port_name": ("s", "P"), "connect": ("i", "Pss"),
    "get_ports": ("P", "Pssu"), "free": ("v", "P"), "get_sample_rate": ("u", "P"),
    "get_buffer_size": ("u", "P"), "last_frame_time": ("u", "P"), "frame_time": ("u", "P"),
    "frames_to_time": ("q", "Pu"), "time_to_frames": ("u", "Pq"), "get_time": ("q", ""),
    "set_freewheel": ("i", "Pi"), "midi_clear_buffer": ("v", "P"),
    "port_by_name": ("P", "Ps"), "port_get_latency_range": ("v", "PiP"), "midi_event_write": ("i", "Pusl"),
}
_TYPES = {"P": C.c_void_p, "s": C.c_char_p, "i": C.c_int, "u": C.c_uint32, "l": C.c_size_t,
          "q": C.c_uint64, "v": None}


def load():
    """Bind libjack's functions without their jack_ prefix."""
    lib = C.CDLL("libjack.so.0")
    bound = type("Jack", (), {})()
    for name, (result, args) in _SIGNATURES.items():
        f = getattr(lib, "jack_" + name)
        f.restype, f.argtypes = _TYPES[result], [_TYPES[a] for a in args]
        setattr(bound, name, f)
    return bound


class Client:
    """One JACK client; `process(nframes)` is called once a cycle after activate()."""

    def __init__(self, name):
        self.j = load()
        self.c = self.j.client_open(name.encode(), 1, None)  # 1: do not start a server
        if not self.c:
            raise SystemExit("rig: no JACK server answers (run `start` and export what it prints)")
        self.rate = self.j.get_sample_rate(self.c)
        self.period = self.j.get_buffer_size(self.c)
        self.xruns, self.dead, self.error = 0, False, None

    def port(self, name, kind, flags):
        p = self.j.port_register(self.c, name.encode(), kind, flags, 0)
        if not p:
            raise SystemExit(f"rig: cannot register port {name}")
        return p

    def full_name(self, port):
        return self.j.port_name(port).decode()

    def activate(self, process):
        def guarded(n, _):
            try:
                process(n)
                return 0
            except Exception as e:  # an exception must not cross into C
                self.error = e
                return 1
        self._keep = (PROCESS(guarded), XRUN(self._on_xrun), SHUTDOWN(self._on_shutdown))
        self.j.set_process_callback(self.c, self._keep[0], None)
        self.j.set_xrun_callback(self.c, self._keep[1], None)
        self.j.on_shutdown(self.c, self._keep[2], None)
        gc.collect()
        gc.disable()  # no collector pause inside the audio thread
        if self.j.activate(self.c):
            raise SystemExit("rig: cannot activate the JACK client")

    def _on_xrun(self, _):
        self.xruns += 1
        return 0

    def _on_shutdown(self, _):
        self.dead = True

    def check(self):
        if self.error:
            raise SystemExit(f"rig: process callback failed: {self.error!r}")
        if self.dead:
            raise SystemExit("rig: the JACK server went away")

    def ports(self, pattern, kind, flags):
        raw = self.j.get_ports(self.c, pattern.encode() if pattern else None, kind, flags)
        if not raw:
            return []
        names, a, i = [], C.cast(raw, C.POINTER(C.c_char_p)), 0
        while a[i]:
            names.append(a[i].decode())
            i += 1
        self.j.free(raw)
        return names

    def playback_latency(self, port):
        """Frames from the named port to the hardware, the most there are: what a program of that port is told."""
        low_high = (C.c_uint32 * 2)()
        self.j.port_get_latency_range(self.j.port_by_name(self.c, port.encode()), 1, low_high)
        return low_high[1]

    def connect(self, src, dst):
        return self.j.connect(self.c, src.encode(), dst.encode())

    def mono_minus_jack_ns(self):
        """CLOCK_MONOTONIC minus JACK time, from the tightest of 50 bracketed readings."""
        best = None
        for _ in range(50):
            a = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
            t = self.j.get_time()
            b = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
            if best is None or b - a < best[0]:
                best = (b - a, (a + b) // 2 - t * 1000)
        return best[1]

    def close(self):
        self.j.deactivate(self.c)
        self.j.client_close(self.c)


def signed(d):
    """Difference of two wrapping 32-bit frame counts."""
    d &= 0xFFFFFFFF
    return d - (1 << 32) if d >= 1 << 31 else d
