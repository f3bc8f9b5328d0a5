"""Computes whole fuel-system plans with nothing but Python's own library: an
independent path to the same numbers. Every equation is written out here from
its source; fixed points are found by halving.

usage: plans.py < plans.json   ({name: inputs in SI}); prints {name: {number: value}}
Sources: Heywood (consumption, energy), Darcy-Weisbach with Churchill (1977),
orifice equation, ISO 2533 (barometer), ASTM D1250-80 Table 54B (gasoline),
DIPPR 105 and 101 as in Perry (ethanol), IEC 60028 (copper), AP-42 ch. 7.1 (vapour).
"""
import json, math, sys

G = 9.80665
RHO = {"g": 745.0, "e": 789.0}
LHV = {"g": 43.4e6, "e": 26.8e6}
NU = {"g": 0.6e-6, "e": 1.5e-6}


def halve(f, low, high):
    """The zero of a falling f."""
    if f(low) <= 0:
        return low
    if f(high) >= 0:
        return high
    for _ in range(46):
        mid = (low + high) / 2
        low, high = (mid, high) if f(mid) > 0 else (low, mid)
    return (low + high) / 2


def barometer(z):
    h = 6356766.0 * z / (6356766.0 + z)
    return 101325.0 * ((288.15 - 0.0065 * h) / 288.15) ** 5.25588


def heating_value(x):
    rho = x * RHO["e"] + (1 - x) * RHO["g"]
    w = x * RHO["e"] / rho
    return w * LHV["e"] + (1 - w) * LHV["g"]


def ethanol(t):
    rho = 46.069 * 1.6288 / 0.27469 ** (1 + (1 - t / 514.0) ** 0.23178)
    return rho, math.exp(7.875 + 781.98 / t - 3.0418 * math.log(t)) / rho


def fluid(x, t):
    """Density and viscosity of a blend; t of nothing is 20 degC."""
    rho = x * RHO["e"] + (1 - x) * RHO["g"]
    nu = math.exp(x * math.log(NU["e"]) + (1 - x) * math.log(NU["g"]))
    if not t:
        return rho, nu
    alpha = 346.4228 / 745.0 ** 2 + 0.4388 / 745.0
    vcf = lambda k: math.exp(-alpha * (k - 288.15) * (1 + 0.8 * alpha * (k - 288.15)))
    gas = vcf(t) / vcf(293.15)
    (r1, n1), (r0, n0) = ethanol(t), ethanol(293.15)
    rho /= x / (r1 / r0) + (1 - x) / gas
    nu *= math.exp(x * math.log(n1 / n0) + (1 - x) * 947.7 * (1 / t - 1 / 293.15))
    return rho, nu


def churchill(re, e):
    a = (2.457 * math.log(1 / ((7 / re) ** 0.9 + 0.27 * e))) ** 16
    b = (37530 / re) ** 16
    return 8 * ((8 / re) ** 12 + (a + b) ** -1.5) ** (1 / 12)


class Plan:
    def __init__(self, s):
        self.s = s
        self.baro = barometer(s["altitude"])
        top = s["manifold"]
        self.map = min(top, self.baro) if top <= 101325 else top
        self.rho, self.nu = fluid(s["ethanol"], s["temperature"])
        power = s["power"] / (1 - s["loss"])
        self.mass = power * s["bsfc"] * heating_value(s["bsfc_ethanol"]) / heating_value(s["ethanol"])
        self.demand = self.mass / self.rho

    def line(self, l, q):
        """Loss of a hose with fittings and parts, without height."""
        if q == 0:
            return 0.0
        area = math.pi / 4 * l["bore"] ** 2
        v = q / area
        f = churchill(abs(v) * l["bore"] / self.nu, 0.0015e-3 / l["bore"])
        k = l["k"] if l["length"] or l["k"] else 1e-3
        return (f * l["length"] / l["bore"] + k) * self.rho * v * abs(v) / 2 + sum(d["dp"] * (q / d["q"]) ** 2 for d in l["drops"])

    def height(self, l, acceleration):
        return self.rho * G * l["rise"] + self.rho * acceleration * l["forward"]

    # pumps
    def one(self, pump, p, v):
        """A new pump: straight in pressure at each voltage, straight in voltage."""
        rows = {}
        for pt in pump["curve"]:
            rows.setdefault(pt["v"], []).append((pt["p"], pt["q"]))
        volts = sorted(rows)
        if len(volts) == 1:  # affinity laws; above the measured voltage as measured
            w = min(1.0, v / volts[0])
            return w * along(sorted(rows[volts[0]]), p / w ** 2)
        k = 0
        while k < len(volts) - 2 and v > volts[k + 1]:
            k += 1
        low, high = volts[k], volts[k + 1]
        a, b = (along(sorted(rows[u]), p) for u in (low, high))
        return a + (b - a) * (v - low) / (high - low)

    def current(self, pump, p):
        """At the one voltage where it was measured."""
        return along(sorted((pt["p"], pt["i"]) for pt in pump["curve"] if pt["i"]), p)

    def left(self, pump):
        hot = 0.95 if self.s["temperature"] and self.s["temperature"] > 318.15 else 1.0
        return (pump["ageing"] or 0.95) * hot

    def bank(self, p, v, aged):
        give = lambda pump, p: self.one(pump, p, v) * (self.left(pump) if aged else 1)
        pumps = self.s["pumps"]
        if self.s["arrangement"] != "series":
            return sum(give(pump, p) for pump in pumps)
        # one flow through all: the pressures at it add up
        at = lambda pump, q: self.pressure_at(pump, q, v, lambda p: give(pump, p))
        return halve(lambda q: sum(at(pump, q) for pump in pumps) - p, 1e-7, 5e-4)

    def shares(self, p, v):
        pumps = self.s["pumps"]
        if self.s["arrangement"] != "series":
            return [p] * len(pumps)
        q = self.bank(p, v, False)
        return [self.pressure_at(pump, q, v, lambda p: self.one(pump, p, v)) for pump in pumps]

    def pressure_at(self, pump, q, v, give):
        """The pressure at which a pump gives q: its points at this voltage, read the other way round."""
        return along(sorted((give(p), p) for p in {pt["p"] for pt in pump["curve"]}), q)

    def hungriest(self, p, v):
        return max(self.current(pump, x) for pump, x in zip(self.s["pumps"], self.shares(p, v)))

    def volts(self, p):
        s = self.s["supply"]
        return s["terminal"] or self.wired(p)

    def wired(self, p):
        s = self.s["supply"]
        copper = 1e-6 / 58 * (1 + 0.00393 * (s["temperature"] - 293.15))
        ohm = copper * (s["feed"] + s["ground"]) / s["area"] + s["contacts"]
        return halve(lambda v: s["source"] - ohm * self.hungriest(p, v) - v, 0.8 * s["source"], s["source"])

    # pressures
    def regulated(self, manifold):
        r = self.s["regulator"]
        boost = manifold - self.baro
        if r["kind"] != "referenced":
            return r["base"]
        return r["base"] + (boost * (r["ratio"] or 1) if boost > 0 else boost)

    def path(self, q, drawn):
        """Pressure from the rail's inlet to the regulator behind the rails, injectors drawing."""
        rails = self.s["rails"]
        if not rails or self.s["place"] == "before":
            return 0.0
        n = self.s["injectors"]["count"] // rails["count"]
        piece = {"bore": rails["bore"], "length": rails["length"] / n, "k": 0.0, "drops": []}
        lost, each = 0.0, drawn / self.s["injectors"]["count"]
        for r in range(rails["count"]):
            if r:
                lost += self.line(rails["link"], q)
            for i in range(n):
                if i:
                    lost += self.line(piece, q)
                q -= each
        return lost

    def inlet(self, q):
        s = self.s["suction"]
        if not s:
            return 0.0
        return s["over"] + self.rho * G * s["level"] - self.line(s["line"], q) - self.rho * G * s["line"]["rise"]

    def outlet(self, q, rail, drawn):
        feed = self.s["feed"]
        return rail + self.line(feed, q) + self.height(feed, self.s["acceleration"]) + self.path(q, drawn)

    def run(self):
        s, out = self.s, {}
        carb = s["carburettor"]
        rail = carb["pressure"] if carb else self.regulated(self.map)
        boost = self.map - self.baro
        back = s["return"] is not None
        if back or carb:
            def through(q):
                p = self.outlet(q, rail, self.demand)
                rise = p - self.inlet(q)
                return self.bank(rise, self.volts(rise), False) - q
            flow = halve(through, 0, 1e-3) if back else self.demand
            flow = max(flow, self.demand)
            outlet, across = self.outlet(flow, rail, self.demand), rail - boost
        else:
            flow, outlet = self.demand, rail
            across = 2 * rail - self.outlet(self.demand, rail, self.demand) - boost
        planned = max(outlet, s["outlet"] or 0) if s["outlet"] else outlet
        v = self.volts(planned - self.inlet(flow))
        given = lambda aged: halve(lambda q: self.bank(planned - self.inlet(q), v, aged) - q, 0, 1e-3)
        new, aged = given(False), given(True)
        out.update(mass=self.mass, demand=self.demand, barometer=self.baro, outlet=outlet, flow=flow, new=new, aged=aged, margin=aged / self.demand, volts=v)
        rise = planned - self.inlet(aged)
        out["current"] = self.hungriest(rise, v)
        if not carb:
            out.update(self.injectors(across))
        if s["supply"]["area"]:
            out["lost"] = s["supply"]["source"] - self.wired(rise)
        if back and not carb:
            out["idle_return"], out["idle_back"] = self.idle(v)
        if s["surge"]:
            out.update(self.surge())
        if s["rvp"] and s["temperature"]:
            out["vapour"] = vapour(s["rvp"], s["temperature"])
        return out

    def injectors(self, across):
        i = self.s["injectors"]
        static = i["flow"] * i["test"] * math.sqrt(self.rho / i["test"]) * math.sqrt(across / i["rated"])
        duty = self.mass / (i["count"] * static)
        return {"across": across, "static": static, "duty": duty, "commanded": duty + i["dead"] * self.s["speed"] / 2}

    def idle(self, full):
        idle = self.s["idle"]
        manifold, burnt = (min(idle["manifold"], self.baro), idle["fuel"] / self.rho) if idle else (self.baro, 0.0)
        rail = self.regulated(manifold)
        v = max(full, self.s["supply"]["source"] or 0)
        if self.s["supply"]["area"]:
            v = max(full, self.wired(rail))
        def through(q):
            return self.bank(self.outlet(q, rail, burnt) - self.inlet(q), v, False) - q
        q = halve(through, 0, 1e-3) - burnt
        ret = self.s["return"]
        return q, self.line(ret, q) + self.rho * G * ret["rise"]

    def surge(self):
        g = self.s["surge"]
        lift = self.one(g["lift"], g["pressure"], g["volts"]) * self.left(g["lift"])
        return {"lift": lift / self.demand, "lasts": g["volume"] / self.demand}


def along(points, x):
    """Straight between points, the end pieces carried on."""
    k = 0
    while k < len(points) - 2 and x > points[k + 1][0]:
        k += 1
    (a, fa), (b, fb) = points[k], points[k + 1]
    return fa + (fb - fa) * (x - a) / (b - a)


def vapour(rvp, t):
    s, l = math.sqrt(3.0), math.log(rvp / 6894.757293168)
    a = 15.64 - 1.854 * s - (0.8742 - 0.3280 * s) * l
    b = 8742 - 1042 * s - (1049 - 179.4 * s) * l
    return math.exp(a - b / (1.8 * t)) * 6894.757293168


print(json.dumps({name: Plan(s).run() for name, s in json.load(sys.stdin).items()}))
