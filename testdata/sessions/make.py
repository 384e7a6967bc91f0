#!/usr/bin/env python3
"""Writes the small sessions of this folder: input.capture and boundary.geojson.

    python3 testdata/sessions/make.py

The machine drives exactly, the receiver has no error and every line takes the
same time to arrive, so that the answer can be worked out by hand; about.md of
each session does so. Positions come from the radii of curvature of WGS 84 and
share no code with drawbar. Metres are x east and y north of a session's origin.
"""
import json, math, os
from datetime import datetime, timedelta, timezone

HERE = os.path.dirname(os.path.abspath(__file__))
A, E2 = 6378137.0, 0.00669437999014  # WGS 84


class Earth:
    """The ground round an origin, right to a tenth of a millimetre within 200 m."""

    def __init__(self, lat, lon):
        s = math.sin(math.radians(lat))
        self.lat, self.lon = lat, lon
        self.n = A / math.sqrt(1 - E2 * s * s)
        self.m = self.n * (1 - E2) / (1 - E2 * s * s)

    def at(self, x, y):
        t = math.tan(math.radians(self.lat))
        lat = self.lat + math.degrees(y / self.m - x * x * t / (2 * self.m * self.n))
        lon = self.lon + math.degrees(x / (self.n * math.cos(math.radians(lat))))
        return lat, lon


class Session:
    def __init__(self, name, earth, start, comment):
        self.name, self.earth, self.start, self.comment = name, earth, start, comment
        self.lines, self.clock = [], lambda s: 0.0  # session's clock minus true time, s

    def add(self, s, stream, text):
        at = self.start + timedelta(seconds=round(s + self.clock(s), 6))
        stamp = at.strftime("%Y-%m-%dT%H:%M:%S.") + "%03dZ" % (at.microsecond // 1000)
        assert at.microsecond % 1000 == 0, (s, at)
        self.lines.append((round(s, 6), len(self.lines), "%s %s %s" % (stamp, stream, text)))

    def operator(self, s, what):
        self.add(s, "operator", json.dumps(what, separators=(",", ":")))

    def sentence(self, s, body):
        self.add(s, "gnss", "$%s*%02X" % (body, xor(body)))

    def position(self, s, x, y):
        lat, lon = self.earth.at(x, y)
        return "%02d%011.8f,N,%03d%011.8f,%s" % (
            int(lat), lat % 1 * 60, int(abs(lon)), abs(lon) % 1 * 60, "E" if lon >= 0 else "W")

    def fix(self, s, x, y, others=""):
        """A GGA that arrives 50 ms after its epoch, and other sentences 10 ms apart."""
        epoch = self.start + timedelta(seconds=round(s, 6))
        clock, where = epoch.strftime("%H%M%S.") + "%02d" % (epoch.microsecond // 10000), self.position(s, x, y)
        self.sentence(s + 0.05, "GNGGA,%s,%s,4,14,0.7,96.0,M,47.1,M,1.0,0101" % (clock, where))
        for i, kind in enumerate(others.split()):
            body = {
                "RMC": "GNRMC,%s,A,%s,,,%s,,,R" % (clock, where, epoch.strftime("%d%m%y")),
                "ZDA": "GNZDA,%s,%s,00,00" % (clock, epoch.strftime("%d,%m,%Y")),
            }[kind]
            self.sentence(s + 0.06 + 0.01 * i, body)

    def write(self):
        folder = os.path.join(HERE, self.name)
        os.makedirs(folder, exist_ok=True)
        with open(os.path.join(folder, "input.capture"), "w") as f:
            f.write("# %s; made by testdata/sessions/make.py\n" % self.comment)
            f.writelines(text + "\n" for _, _, text in sorted(self.lines))

    def boundary(self, rings):
        coords = [[[round(v, 9) for v in reversed(self.earth.at(x, y))] for x, y in r + r[:1]] for r in rings]
        with open(os.path.join(HERE, self.name, "boundary.geojson"), "w") as f:
            json.dump({"type": "Polygon", "coordinates": coords}, f)
            f.write("\n")


def xor(text):
    sum = 0
    for c in text.encode():
        sum ^= c
    return sum


def checked(text):
    return "%s*%02X" % (text, xor(text))


def states(times, end_s, every_s):
    """The moments of reports: every so often, and at each change."""
    ticks = [i * every_s for i in range(int(end_s / every_s) + 1)]
    return sorted(set(round(t, 6) for t in ticks + times))


def latest(changes, s):
    """What the last change at or before s set."""
    return [v for t, v in changes if t <= s][-1]


UTC = timezone.utc


def two_tanks():
    s = Session("two-tanks", Earth(53.31, 0.012), datetime(2026, 5, 14, 9, 20, 0, tzinfo=UTC),
                "one pass on Long Meadow: a section goes off between two fixes, seed by rate, liquid by flow")
    for i in range(36 * 5 + 1):
        s.fix(i / 5, 0, 2.5 * i / 5, "ZDA" if i % 5 == 0 else "")
    sections = [(0, "0000"), (2, "1111"), (16.07, "1101"), (26.1, "0000")]
    seed = [(0, 0), (2, 112), (26.1, 0)]
    flow = [(0, 0), (5.5, 41.4), (18.57, 31.05), (28.6, 0)]
    for t in states([t for c in (sections, seed, flow) for t, _ in c], 36, 0.5):
        on = latest(sections, t)
        line = "work=%d sections=%s tank.1.rate=%gkg/ha tank.1.target=110kg/ha tank.2.flow=%gL/min" % (
            on != "0000", on, latest(seed, t), latest(flow, t))
        s.add(t + 0.07, "controller", checked(line))
    s.write()


def wrong_clock():
    s = Session("wrong-clock", Earth(53.29, -0.0004), datetime(2026, 5, 15, 6, 0, 0, tzinfo=UTC),
                "one pass on Mill Piece by a board without a clock battery: years behind, then set twice")
    behind = (datetime(2019, 2, 3, 0, 0, 41, tzinfo=UTC) - s.start).total_seconds()
    s.clock = lambda t: behind if t < 20.015 else -1.5 if t < 24.315 else 0.0
    for i in range(36 * 5 + 1):
        s.fix(i / 5, -50 + 3 * i / 5, 0, "RMC")  # across the Greenwich meridian
    mask = [(0, "00"), (5.25, "3F"), (14.65, "0F"), (27.35, "00")]
    for n, t in enumerate(states([t for t, _ in mask], 36, 0.4)):
        on = latest(mask, t)
        line = "SP,%d,%s,%d,%d" % (on != "00", on, 1625 if on != "00" else 0, 8000 - n)
        line = checked(line)
        if n == 12:  # before any work
            line = line[:-2] + "00"
        s.add(t + 0.03, "controller", line)
    s.write()


def headland():
    s = Session("headland", Earth(53.3, 0.002), datetime(2026, 5, 14, 13, 5, 10, tzinfo=UTC),
                "a towed drill turns round the end of its own bar on the headland of Mill Piece")
    v, rho, pole, way = 1.8, 4.5, 6.0, 40.0  # of the wheels: speed, radius of the turn; hitch to wheels; a pass
    turn = math.pi * rho
    run = 10.0
    end = (2 * (run + way) + turn) / v
    for i in range(int(end * 10) + 1):
        d = v * i / 10 - run
        if d <= way:
            x, y, h = 0, d, 0.0
        elif d <= way + turn:
            h = (d - way) / rho  # turned to the left
            x, y = -rho + rho * math.cos(h), way + rho * math.sin(h)
        else:
            x, y, h = -2 * rho, way - (d - way - turn), math.pi
        s.fix(i / 10, x - pole * math.sin(h), y + pole * math.cos(h), "ZDA" if i % 10 == 0 else "")
    on, off = round(run / v, 3), round((run + 2 * way + turn) / v, 3)
    for t in states([on, off], end, 0.2):
        work = on <= t < off
        s.add(t, "controller", checked("work=%d sections=%s tank.1.rate=%dkg/ha" % (work, "1111" if work else "0000", 110 * work)))
    s.write()


def late_words():
    s = Session("late-words", Earth(53.28, 0.02), datetime(2026, 5, 20, 4, 30, 0, tzinfo=UTC),
                "Far Reach with nothing set up: the operator says it on the way, and corrects it afterwards")
    for i in range(40 * 5 + 1):
        s.fix(i / 5, 0, 3 * i / 5, "RMC")
    for t in states([36], 40, 0.2):
        s.add(t, "controller", checked("work=%d sections=11 tank.1.rate=%dkg/ha" % (t < 36, 120 if t < 36 else 0)))
    s.operator(10.05, {"field": "Far Reach", "implement": {
        "name": "6 m drill", "operation": "seeding", "antenna_to_hitch_m": 2, "mount": "rigid", "hitch_to_bar_m": 1,
        "sections_m": [3, 3]}, "tanks": [{"tank": 1, "product": {"name": "Spring oats", "kind": "seed"}, "target": "125 kg/ha"}]})
    s.operator(20.05, {"mark": {"kind": "stone", "note": "as big as a bucket", "at": "bar"}})
    s.operator(40.5, {"tanks": [{"tank": 1, "product": {"name": "Winter barley", "kind": "seed"}, "target": "150 kg/ha"}],
                      "from": "2026-05-20T04:30:15Z", "to": "2026-05-20T04:30:25Z", "why": "the wrong bag was in the tank"})
    s.write()


def pond():
    s = Session("pond", Earth(53.3, 0.004), datetime(2026, 5, 16, 8, 0, 0, tzinfo=UTC),
                "two passes across Kettle Hollow, over its pond and beyond both ends")
    v, half = 4.0, math.pi * 4
    length = 2 * 150 + half
    for i in range(int(length / v * 5) + 1):
        d = v * i / 5
        if d <= 150:
            x, y = -25 + d, 30
        elif d <= 150 + half:
            a = (d - 150) / 4
            x, y = 125 + 4 * math.sin(a), 34 - 4 * math.cos(a)
        else:
            x, y = 125 - (d - 150 - half), 38
        s.fix(i / 5, x, y, "ZDA" if i % 5 == 0 else "")
    back = (150 + half) / v
    on = [(0, 0), (15 / v, 1), (135 / v, 0), (back + 15 / v, 1), (back + 135 / v, 0)]
    on = [(round(t, 3), w) for t, w in on]
    for t in states([t for t, _ in on], length / v, 0.5):
        work = latest(on, t)
        s.add(t, "controller", checked("work=%d tank.1.rate=%dL/ha" % (work, 200 * work)))
    s.write()
    s.boundary([[(0, 0), (100, 0), (100, 60), (0, 60)], [(40, 20), (40, 40), (60, 40), (60, 20)]])


for make in two_tanks, wrong_clock, headland, late_words, pond:
    make()
