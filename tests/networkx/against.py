#!/usr/bin/env python3
"""Holds the graph computations of the check against networkx.

    against.py BINARY SAMPLES [--count 320] [--seed 1] [--keep FOLDER]

Random designs, the corners and the samples go through `BINARY check FOLDER --as json --explain-all`; every wire's role,
let-through, circulation, minimum cut and unprotected stretch, and the subjects of `return.bypass` and `bond.extra`,
are then computed again here: from the definitions, with a reader of its own, and by networkx. It shares nothing with
the program but the text of the designs. It ends with 1 on any difference, and prints the smallest design that differs.
"""

import argparse
import itertools
import json
import math
import multiprocessing
import os
import pathlib
import random
import re
import subprocess
import sys
import tempfile
import traceback
from collections import Counter, defaultdict

try:
    import networkx as nx
    from networkx.algorithms.flow import shortest_augmenting_path
except ImportError:
    print("networkx is not installed")
    sys.exit(77)

INF = math.inf

# ---------------------------------------------------------------------------------------------------------------
# A small reader of the language: as much of it as decides what is joined to what, and how strong each source is.

TOKEN = re.compile(
    r'"(?:[^"\\]|\\.)*"'
    r"|(?P<number>-?\d+(?:\.\d+)?(?:/0)?)[ \t]*"
    r"(?P<unit>mm2|mm²|mohm|ohm|AWG|SAE|kAh|Ah|kA|mA|kW|mV|kV|mm|cm|in|ft|Nm|A|V|W|m|C|F|%)(?![\w/.-])"
    r"|[{}()=,]"
    r'|[^\s"{}()=,]+'
)
UNITS = {
    "A": ("A", 1), "kA": ("A", 1000), "mA": ("A", 0.001), "V": ("V", 1), "kV": ("V", 1000), "mV": ("mV", 1),
    "W": ("W", 1), "kW": ("W", 1000), "Ah": ("Ah", 1), "kAh": ("Ah", 1000), "ohm": ("ohm", 1), "mohm": ("ohm", 0.001),
    "m": ("m", 1), "mm": ("m", 0.001), "cm": ("m", 0.01), "in": ("m", 0.0254), "ft": ("m", 0.3048),
    "mm2": ("mm2", 1), "mm²": ("mm2", 1), "AWG": ("AWG", None), "SAE": ("SAE", None),
}  # fmt: skip
KINDS = set(
    """battery alternator supply solar charger inverter load fuse breaker switch plug cutoff post bar meter chassis
    hub""".split()
)
# Words that take a value: the value must not be read as a bare quantity of the component.
ONE_VALUE = set(
    """fault resistance full discharge charge returns fused voc isc vmp imp strings series-fuse in-max efficiency from
    outputs surge stall case volts holder on pair brief zone torque""".split()
)


class Word(str):
    """A word of a statement; `outer` when it came in through a kit's parameter, as a name of the place outside."""

    outer = False


class Quantity:
    outer = False

    def __init__(self, number, unit):
        self.raw = number
        self.unit, scale = UNITS.get(unit, (unit, 1))
        self.value = number if scale is None else float(number) * scale


def split(text):
    """The statements of a text: lists of words, blocks opened by `{` nested as a list at the end of the statement."""
    lines, joined = [], ""
    for line in text.splitlines():
        code, quoted, escaped = "", False, False
        for char in line:
            if char == "#" and not quoted:
                break
            quoted ^= char == '"' and not escaped
            escaped = char == "\\" and not escaped
            code += char
        else:
            if code.rstrip().endswith("\\"):
                joined += code.rstrip()[:-1] + " "
                continue
        lines.append(joined + code)
        joined = ""
    stack = [[]]
    for line in lines:
        words = []
        for match in TOKEN.finditer(line):
            words.append(Quantity(match["number"], match["unit"]) if match["unit"] else Word(match[0]))
        if not words:
            continue
        if words == ["}"]:
            block = stack.pop()
            stack[-1][-1].append(block)
        elif words[-1] == "{":
            stack[-1].append(words[:-1])
            stack.append([])
        else:
            stack[-1].append(words)
    return stack[0]


class Component:
    def __init__(self, name, kind, order):
        self.name, self.kind, self.order = name, kind, order
        self.bare = {}  # unit: value
        self.has = set()
        self.props = {}

    def take(self, words):
        i = 0
        while i < len(words):
            word = words[i]
            if isinstance(word, Quantity):
                self.bare[word.unit] = word.value
            elif word in ("in", "out") and self.kind == "charger":
                while i + 1 < len(words) and isinstance(words[i + 1], Quantity):
                    i += 1
                    self.props[word, words[i].unit] = words[i].value
            elif word == "breaks":
                i += 1
                if i + 2 < len(words) and words[i + 1] == "at":
                    i += 2
            elif word == "counts":
                break
            elif word in ONE_VALUE:
                i += 1
                value = words[i]
                self.props[str(word)] = value.value if isinstance(value, Quantity) else str(value)
            elif not word.startswith('"'):
                self.has.add(str(word))
            i += 1
        return self


class Wire:
    def __init__(self, name, order, a, b, words):
        self.name, self.order, self.a, self.b = name, order, a, b
        self.count, self.marks = 1, set()
        i = 0
        while i < len(words):
            word = words[i]
            if isinstance(word, Quantity):
                if word.unit == "m":
                    self.length = word.value
                elif word.unit in ("mm2", "AWG", "SAE"):
                    self.size = (word.unit, word.value)
            elif word in ("zone", "insulation"):
                i += 1
            elif word == "count":
                i += 1
                self.count = int(words[i])
            elif word == "ends":
                i += 2
            elif not word.startswith('"'):
                self.marks.add(str(word))
            i += 1

    def conductance(self):
        """Of the copper alone, at one temperature for all: class 5 by IEC 60228 in mm2, by area in gauges."""
        unit, size = self.size
        if unit == "mm2":
            per_metre = CLASS_5.get(float(size)) or 19 / float(size)
        else:
            gauge = int(size.split("/")[0])
            gauge = 1 - gauge if "/" in size else gauge
            per_metre = 17.241 / (math.pi / 4 * (0.127 * 92 ** ((36 - gauge) / 39)) ** 2)
        return self.count / (per_metre * self.length)


CLASS_5 = {
    0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554,
    50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161,
}  # fmt: skip


# How far from a source a wire without protection may end, in metres: by book, for a battery or not, sheathed or not.
DISTANCES = {
    book: dict(zip([(True, False), (True, True), (False, False), (False, True)], row))
    for book, row in {
        "common-practice": (0.18, 1.8, 0.18, 1.0),
        "small-craft-us": (7 * 0.0254, 72 * 0.0254, 7 * 0.0254, 40 * 0.0254),
        "small-craft-iso": (0.2, 1.8, 0.2, 1.0),
        "caravan-us": (0.45, 0.45, 0.45, 0.45),
    }.items()
}


class Design:
    """What a file says: components and wires by name in the order of statements, bolts and data leads."""

    def __init__(self, path):
        self.components, self.wires, self.bolts, self.data = {}, {}, [], []
        self.limits, self.book = {"bank.link": 0.5}, "common-practice"
        self.parts, self.kits, self.order = {}, {}, 0
        self.read(pathlib.Path(path))

    def read(self, path):
        statements = split(path.read_text(encoding="utf-8"))
        for words in statements:
            if words[0] == "use":
                self.read(path.parent / words[1].strip('"'))
            elif words[0] == "part":
                self.parts[str(words[1])] = [w for w in words[3:] if not isinstance(w, list)]
            elif words[0] == "kit":
                self.kits[str(words[1])] = words
        for words in statements:
            self.statement(words)

    def statement(self, words):
        head = words[0]
        self.order += 1
        if head in KINDS:
            self.component(str(words[1]), head, words[2:])
        elif head == "wire":
            self.wires[str(words[1])] = Wire(str(words[1]), self.order, str(words[3]), str(words[5]), words[6:])
        elif head == "bolt":
            self.bolts.append((str(words[1]), str(words[3])))
        elif head == "data":
            if "isolated" not in [w for w in words if isinstance(w, str)]:
                self.data.append((str(words[1]), str(words[3]), str(words[5]), self.order))
        elif head == "book":
            self.book = str(words[1])
        elif head == "limit" and isinstance(words[2], Quantity):
            self.limits[str(words[1])] = words[2].value
        elif head == "fit":
            self.fit(words)

    def component(self, name, kind, words):
        made = Component(name, str(kind), self.order)
        if words and words[0] == "=":
            made.take(self.parts[str(words[1])][1:])
            words = words[2:]
        self.components[name] = made.take(words)

    def fit(self, words):
        kit, prefix = self.kits[str(words[1])], str(words[3]) + "/"
        given = dict(pairs(words[4:]))
        body = kit[-1]
        known = {str(w[3] if w[0] == "fit" else w[1]) for w in body if w[0] not in ("bolt", "note")}

        def place(word):
            if isinstance(word, Quantity) or word.startswith('"'):
                return word
            if word.startswith("$"):
                value = given[word[1:]]
                if isinstance(value, str):
                    value = Word(value)
                    value.outer = True
                return value
            return Word(prefix + word) if re.split(r"[./]", word)[0] in known else word

        for statement in body:
            placed = []
            for i, word in enumerate(statement):
                # A statement's own first words, a part's and a kit's name are no names of things.
                fixed = i == 0 or (statement[0] == "fit" and i == 1) or (i > 0 and statement[i - 1] == "=" and i == 3)
                fixed |= statement[0] == "fit" and i > 3 and i + 1 < len(statement) and statement[i + 1] == "="
                placed.append(word if fixed else place(word))
            self.statement(placed)


def pairs(words):
    words = [w for w in words if isinstance(w, Quantity) or w not in ("(", ")", ",")]
    for i in range(0, len(words) - 2, 3):
        yield str(words[i]), words[i + 2]


# ---------------------------------------------------------------------------------------------------------------
# The circuit: nodes, metal edges, sources.


class Edge:
    """A piece of metal between two nodes. Wires side by side are one edge."""

    def __init__(self, kind, u, v, name, order, rating=INF, wires=()):
        self.kind, self.u, self.v, self.name, self.order, self.rating = kind, u, v, name, order, rating
        self.wires = list(wires)

    def device(self):
        return self.kind in ("fuse", "breaker")


class Source:
    """What can push current out of a positive terminal."""

    def __init__(self, name, plus, minus, limit, part, unlimited):
        self.name, self.plus, self.minus, self.limit, self.part = name, plus, minus, limit, part
        self.unlimited = unlimited  # has a stretch


class Circuit:
    def __init__(self, design):
        self.design = design
        parent = self.parent = {}

        def find(x):
            parent.setdefault(x, x)
            while parent[x] != x:
                parent[x] = parent[parent[x]]
                x = parent[x]
            return x

        def at(terminal):
            base, _, tail = terminal.partition(".")
            if design.components[base].kind in ("post", "bar", "chassis"):
                return base  # a node of its own, any stud of it
            return f"{base}.{tail}"

        # Node: terminals joined by `bolt` or `on`, and each post, bar and chassis.
        for a, b in design.bolts:
            parent[find(at(a))] = find(at(b))
        for c in design.components.values():
            if "on" in c.props:
                parent[find(c.name + ".line")] = find(at(c.props["on"]))
        node = self.node = lambda terminal: find(at(terminal))

        self.edges, self.arcs, self.sources = [], [], []
        groups = defaultdict(list)
        for w in design.wires.values():
            groups[frozenset((node(w.a), node(w.b)))].append(w)
        self.group = {}
        for run in groups.values():
            edge = Edge("wire", node(run[0].a), node(run[0].b), run[-1].name, run[-1].order, wires=run)
            self.edges.append(edge)
            for w in run:
                self.group[w.name] = edge
        # A starter: a load at whose positive a `cranking` wire ends.
        cranked = {node(t) for w in design.wires.values() if "cranking" in w.marks for t in (w.a, w.b)}
        self.starters = []
        for c in design.components.values():
            self.add(c, cranked)
        for name, a, b, order in design.data:
            u, v = self.negative_of(a), self.negative_of(b)
            if u and v:
                self.edges.append(Edge("data", u, v, name, order))
        self.chassis = [c for c in design.components.values() if c.kind == "chassis"]
        self.find_strings()
        self.find_banks()
        self.roles()

    def negative_of(self, terminal):
        """What a data lead that is not isolated ties: a meter's `bat` side, a charger's `out-`, else the `-`."""
        c = self.design.components[terminal.partition(".")[0]]
        return self.node(c.name + {"meter": ".bat", "charger": ".out-"}.get(c.kind, ".-"))

    def add(self, c, cranked):
        n = lambda tail: self.node(f"{c.name}.{tail}")  # noqa: E731
        kind = c.kind
        if kind in ("fuse", "breaker"):
            self.edges.append(Edge(kind, n("line"), n("load"), c.name, c.order, c.bare["A"]))
        elif kind == "cutoff":
            self.edges.append(Edge(kind, n("line"), n("load"), c.name, c.order))
        elif kind in ("switch", "plug"):
            self.edges.append(Edge(kind, n("a"), n("b"), c.name, c.order))
        elif kind == "meter":
            self.edges.append(Edge(kind, n("bat"), n("sys"), c.name, c.order))
        elif kind in ("load", "inverter", "hub"):
            if kind == "load" and n("+") in cranked:
                self.starters.append(n("+"))  # left out of what counts as shorted
            else:
                self.arcs.append((n("+"), n("-")))
        elif kind == "battery":
            self.sources.append(Source(c.name, n("+"), n("-"), INF, c, True))
        elif kind == "alternator":
            self.sources.append(Source(c.name, n("+"), n("-"), c.bare["A"], c, False))
        elif kind == "supply":
            fused, fault = c.props.get("fused"), c.props.get("fault")
            limit = fused if fused else INF if fault else c.bare["A"]
            self.sources.append(Source(c.name, n("+"), n("-"), limit, c, not fused and bool(fault)))
        elif kind == "solar":
            limit = c.props["isc"] * int(c.props.get("strings", 1))
            self.sources.append(Source(c.name, n("+"), n("-"), limit, c, False))
        elif kind == "charger":
            if c.props.get("from") != "ac":
                self.arcs.append((n("in+"), n("in-")))
                if "common" in c.has:
                    self.edges.append(Edge("common", n("in-"), n("out-"), c.name, c.order))
            outputs = int(c.props.get("outputs", 0))
            plus = [n(f"out{i + 1}+") for i in range(outputs)] or n("out+")
            self.sources.append(Source(c.name, plus, n("out-"), c.props["out", "A"], c, False))
        if "returns" in c.props:
            # A tie from the component's own negative to the chassis that it is mounted on.
            self.edges.append(Edge("tie", n("-"), self.node(c.props["returns"]), c.name, c.order))

    def find_strings(self):
        """String: wires, bolts, posts and devices alone (no bar, meter or chassis) from one battery's `+` to the `-`
        of another of the same chemistry, voltage and capacity. The links inside belong to the source."""
        barred = {self.node(c.name) for c in self.design.components.values() if c.kind in ("bar", "chassis")}
        graph = nx.MultiGraph()
        for i, e in enumerate(self.edges):
            if (e.kind == "wire" or e.device()) and e.u not in barred and e.v not in barred and e.u != e.v:
                graph.add_edge(e.u, e.v, key=i)
        batteries = [s for s in self.sources if s.part.kind in ("battery", "solar")]
        self.below, links = {}, set()
        for low, high in itertools.permutations(batteries, 2):
            if likeness(low, True) != likeness(high, True):
                continue
            if low.plus == high.minus:
                self.below[high.name] = low
            elif low.plus in graph and high.minus in graph and nx.has_path(graph, low.plus, high.minus):
                self.below[high.name] = low
                for path in nx.all_simple_edge_paths(graph, low.plus, high.minus):
                    links.update(key for _, _, key in path)
        self.links = [e for i, e in enumerate(self.edges) if i in links]
        self.metal = [e for i, e in enumerate(self.edges) if i not in links]
        for s in self.sources:
            first = s
            while first.name in self.below:
                first = self.below[first.name]
            s.first_minus = first.minus
            s.inner = s.name in self.below

    def find_banks(self):
        """Bank: batteries or strings of one chemistry and nominal voltage, whose positives are joined without a device
        by wires of at most `bank.link` each and whose negatives are joined by metal without a device: one source,
        whose terminals are any of theirs. (A string's upper end only: what a member below feeds are taps.)"""
        short, plain = nx.Graph(), nx.Graph()
        for e in self.metal:
            # Of wires side by side (the rules are silent) every one must be short enough.
            if e.kind == "wire" and max(w.length for w in e.wires) <= self.design.limits["bank.link"] * (1 + 1e-9):
                short.add_edge(e.u, e.v)
            if not e.device():
                plain.add_edge(e.u, e.v)

        def joined(graph, a, b):
            return a == b or (a in graph and b in graph and nx.has_path(graph, a, b))

        tops = [s for s in self.sources if s.part.kind == "battery" and s not in self.below.values()]
        same = nx.Graph()
        same.add_nodes_from(s.name for s in self.sources)
        for a, b in itertools.combinations(tops, 2):
            if self.bank_kind(a) == self.bank_kind(b) and joined(short, a.plus, b.plus):
                if joined(plain, a.first_minus, b.first_minus):
                    same.add_edge(a.name, b.name)
        self.banks = sorted(sorted(bank) for bank in nx.connected_components(same))
        # The wires between a bank's positives: on some way of short wires from one to another. (On the stretch of a
        # source outside the bank, where the rules are silent, they are wires like any other.)
        self.between_positives = defaultdict(set)
        plus = {s.name: s.plus for s in tops}
        for bank in self.banks:
            for a, b in itertools.permutations(bank, 2):
                for path in nx.all_simple_paths(short, plus[a], plus[b]) if plus[a] != plus[b] else ():
                    self.between_positives[a].update(frozenset(s) for s in zip(path, path[1:]))

    def bank_kind(self, top):
        volts, s = 0, top
        while True:
            volts += s.part.bare["V"]
            if s.name not in self.below:
                return likeness(top, False)[0], volts
            s = self.below[s.name]

    def roles(self):
        """Live: the metal graph as reached from sources' positives; return: from sources' negatives (a string's first).
        Neither goes through a load or a source. A wire's role, in this order: live, bond (marked so), return, other."""
        graph = nx.Graph()
        for e in self.metal:
            graph.add_edge(e.u, e.v)

        def reach(starts):
            return set(starts).union(*(nx.node_connected_component(graph, s) for s in starts if s in graph))

        self.live = reach([p for s in self.sources for p in pluses(s)])
        self.returns = reach([s.minus for s in self.sources if not s.inner])

    def role(self, wire):
        edge = self.group[wire.name]
        if edge in self.links:
            # The rules are silent on the role of a link inside a string; it belongs to the source, so: other.
            return "other"
        if edge.u in self.live:
            return "live"
        if "bond" in wire.marks:
            return "bond"
        return "return" if edge.u in self.returns else "other"


def likeness(source, capacity):
    chemistry = next((w for w in source.part.has if w in ("lead-acid", "agm", "gel", "lifepo4", "nmc")), None)
    modules = source.part.props.get("voc"), source.part.props.get("isc")
    return chemistry, source.part.kind, modules, source.part.bare.get("V"), source.part.bare.get("Ah") if capacity else None


def pluses(source):
    return source.plus if isinstance(source.plus, list) else [source.plus]


# ---------------------------------------------------------------------------------------------------------------
# How much current a wire can be made to carry: networkx maximum_flow and minimum_cut.


class Flows:
    """Flow networks in which what carries without limit both ways is one node; a missing capacity is infinite."""

    def __init__(self, circuit):
        self.circuit, self.memo = circuit, {}

    def classes(self, edges, without):
        parent = {}

        def find(x):
            parent.setdefault(x, x)
            while parent[x] != x:
                parent[x] = parent[parent[x]]
                x = parent[x]
            return x

        for e in edges:
            if e is not without and e.kind != "cutoff" and not e.device():
                parent[find(e.u)] = find(e.v)
        return find

    def base(self, edges, find):
        """Closed protective devices carry at most their rating both ways; a cutoff from line to load only; loads,
        inverters, hubs and charger inputs count as shorted from positive to negative."""
        graph = nx.DiGraph()
        for e in edges:
            if e.device():
                join(graph, find(e.u), find(e.v), e.rating, e.name)
                join(graph, find(e.v), find(e.u), e.rating, e.name)
            elif e.kind == "cutoff":
                join(graph, find(e.u), find(e.v), INF, None)
        for a, b in self.circuit.arcs:
            join(graph, find(a), find(b), INF, None)
        return graph

    def let_through(self, edge):
        """The maximum flow that can arrive at one of the wire's ends, not through the wire itself, from all sources
        together, each feeding its positive with its limit; the larger of its two ends'. For each end: the flow, and
        the names in the minimum cut nearest to it (networkx's minimum_cut gives the smallest side of the sink)."""
        c = self.circuit
        find = self.classes(c.metal, edge)
        graph = self.base(c.metal, find)
        for i, s in enumerate(c.sources):
            if isinstance(s.plus, list):
                join(graph, "from", f"inside {i}", s.limit, s.name)
                for p in s.plus:
                    join(graph, f"inside {i}", find(p), INF, None)
            else:
                join(graph, "from", find(s.plus), s.limit, s.name)
        ends = []
        for end in {find(edge.u), find(edge.v)}:
            if end not in graph or "from" not in graph:
                ends.append((0.0, set(), end))
                continue
            try:
                value, (near, far) = nx.minimum_cut(graph, "from", end, flow_func=shortest_augmenting_path)
            except nx.NetworkXUnbounded:
                ends.append((INF, set(), end))
                continue
            cut = {n for a, b, d in graph.edges(data=True) if a in near and b in far for n in d["names"]}
            ends.append((value, cut, end))
        return max(e[0] for e in ends), ends, graph

    def cut_disconnects(self, graph, end, names):
        """Whether the end is out of reach of every source when the named devices and sources carry nothing."""
        rest = nx.DiGraph()
        rest.add_nodes_from(["from", end])
        rest.add_edges_from((a, b) for a, b, d in graph.edges(data=True) if not d["names"] or not d["names"] <= names)
        return not nx.has_path(rest, "from", end)

    def circulation(self, edge):
        """The maximum flow from one of the wire's ends to the other through the rest of the circuit, where each source
        is an arc from its negative to its positive with its limit, and a battery one from positive to negative too;
        the larger of the two directions. None where plain metal still joins the ends. (Plain metal: what carries
        without limit both ways. So a cutoff beside a wire leaves it a circulation, without limit.)"""
        c = self.circuit
        find = self.classes(c.edges, edge)
        u, v = find(edge.u), find(edge.v)
        if u == v:
            return None
        graph = self.base(c.edges, find)
        for i, s in enumerate(c.sources):
            if isinstance(s.plus, list):
                join(graph, find(s.minus), f"inside {i}", s.limit, s.name)
                for p in s.plus:
                    join(graph, f"inside {i}", find(p), INF, None)
            else:
                join(graph, find(s.minus), find(s.plus), s.limit, s.name)
            if s.part.kind == "battery":
                join(graph, find(s.plus), find(s.minus), INF, None)
        graph.add_nodes_from((u, v))
        best = 0.0
        for a, b in ((u, v), (v, u)):
            try:
                best = max(best, nx.maximum_flow_value(graph, a, b, flow_func=shortest_augmenting_path))
            except nx.NetworkXUnbounded:
                return INF
        return best


def join(graph, a, b, capacity, name):
    if a == b:
        return
    if not graph.has_edge(a, b):
        graph.add_edge(a, b, capacity=0.0, names=set())
    data = graph[a][b]
    if capacity == INF or "capacity" not in data:
        data.pop("capacity", None)
        data["names"] = set()
    else:
        data["capacity"] += capacity
        data["names"].add(name)


# ---------------------------------------------------------------------------------------------------------------
# The unprotected stretch: networkx all_simple_edge_paths (all_simple_paths over edges) and dijkstra.


class Stretch:
    def __init__(self, name, names, terminals, battery):
        self.name, self.names, self.terminals, self.battery = name, names, terminals, battery


class Stretches:
    """For each unlimited source, the live wires reached from its positive without passing a protective device."""

    LIMIT = 400_000

    def __init__(self, circuit):
        self.circuit = c = circuit
        by_name = {s.name: s for s in c.sources}
        self.cranking_feed()
        self.found = []
        for bank in c.banks:
            members = [by_name[n] for n in bank]
            if members[0].unlimited:
                battery = members[0].part.kind == "battery"
                self.found.append(Stretch(members[0].name, bank, {m.plus for m in members}, battery))
        for battery, nodes in self.restarts.items():
            # Every node on the cranking feed but the battery's own terminal counts as a source terminal other than a
            # battery's for what is tapped there: one source with all these terminals, under the battery's name.
            if nodes:
                self.found.append(Stretch(battery, {battery}, nodes, False))
        self.results = [self.walk(s) for s in self.found]

    def cranking_feed(self):
        """The cranking wires on some way from a battery's positive to a starter, over cranking wires and switches; the
        other cranking wires are not exempt. An exempt wire is on no stretch, and no stretch runs through it."""
        c = self.circuit
        graph = nx.MultiGraph()
        for i, e in enumerate(c.metal):
            cranking = any("cranking" in w.marks for w in e.wires)
            if cranking or e.kind in ("switch", "plug", "meter"):
                if e.u != e.v:
                    graph.add_edge(e.u, e.v, key=i)
        self.exempt, self.restarts = set(), {}
        for s in c.sources:
            if s.part.kind != "battery" or s.plus not in graph:
                continue
            nodes = set()
            for starter in c.starters:
                if starter in graph and starter in c.live and starter != s.plus:
                    for path in nx.all_simple_edge_paths(graph, s.plus, starter):
                        for u, v, key in path:
                            nodes |= {u, v}
                            if c.metal[key].kind == "wire":
                                self.exempt.add(id(c.metal[key]))
            self.restarts[s.name] = nodes - {s.plus}

    def walk(self, stretch):
        c = self.circuit
        # What a cutoff carries, it carries from line to load only: nothing is reached backwards through it, and no
        # way (its length, a device that follows) runs backwards through it either.
        edges = [e for e in c.metal if not e.device() and id(e) not in self.exempt]
        near = defaultdict(list)
        for e in edges:
            near[e.u].append((e, e.v))
            if e.kind != "cutoff":
                near[e.v].append((e, e.u))
        zone, todo = set(stretch.terminals), list(stretch.terminals)
        while todo:
            for _, other in near[todo.pop()]:
                if other not in zone:
                    zone.add(other)
                    todo.append(other)
        inside = [e for e in edges if e.u in zone]
        paths = nx.MultiDiGraph()
        paths.add_nodes_from(zone)
        for i, e in enumerate(inside):
            if e.u != e.v:
                paths.add_edge(e.u, e.v, key=i)
                if e.kind != "cutoff":
                    paths.add_edge(e.v, e.u, key=i)
        # A device follows a wire when some simple path starts at the source's terminal, runs through the wire and ends
        # at the device, passing no device before; one whose two sides are both reached without a device does not
        # count; the device inside a `fused` supply counts at its terminal.
        ends = defaultdict(dict)
        for e in c.metal:
            if e.device() and (e.u in zone) != (e.v in zone):
                ends[e.u if e.u in zone else e.v][e.name] = e.rating
        for s in c.sources:
            if "fused" in s.part.props and s.plus in zone and s.plus not in stretch.terminals:
                ends[s.plus][s.name] = s.limit
        followers = defaultdict(dict)
        steps = 0
        for start in stretch.terminals:
            for target, devices in ends.items():
                if start == target:
                    continue
                for path in nx.all_simple_edge_paths(paths, start, target):
                    steps += 1
                    if steps > self.LIMIT:
                        return None
                    for _, _, key in path:
                        followers[key].update(devices)
        # Length: the shortest way from the terminal to the wire's nearer end, not through the wire, plus the wire. Of
        # wires side by side each has its own; a way runs over the shortest of them.
        result = {}
        for i, e in enumerate(inside):
            if e.kind != "wire":
                continue
            for wire in e.wires:
                enclosed, bare = self.nearest(stretch, zone, inside, wire, e)
                length = min(enclosed, bare) + wire.length
                devices = followers.get(i, {})
                # Sheathed when every wire on that way is. (Of ways equally short, where the rules are silent, any.)
                ways = {enclosed <= bare or close(enclosed, bare), enclosed < bare and not close(enclosed, bare)}
                ways = {"sheathed" in wire.marks and way for way in ways}
                # A book of the samples' own changes none of them.
                distances = DISTANCES.get(c.design.book, DISTANCES["common-practice"])
                limits = [distances[(stretch.battery, way)] for way in ways]
                ends_of = frozenset((e.u, e.v))
                if stretch.battery and any(ends_of in c.between_positives[n] for n in stretch.names):
                    limits = [c.design.limits["bank.link"]]
                result[wire.name] = {
                    "length_m": length, "limit_m": limits,
                    "followed": bool(devices), "devices_a": sum(devices.values()),
                }  # fmt: skip
        return result

    def nearest(self, stretch, zone, inside, wire, edge):
        """The shortest way from the source's terminal to the wire's nearer end, not through the wire: one in sheaths
        alone, and one with a bare wire in it. (A graph in two layers: the upper one has seen a bare wire.)"""
        layers = nx.DiGraph()
        layers.add_nodes_from((n, seen) for n in zone for seen in (False, True))

        def way(a, b, length, bare):
            for seen in (False, True):
                old = layers.get_edge_data((a, seen), (b, seen or bare), {"weight": INF})["weight"]
                layers.add_edge((a, seen), (b, seen or bare), weight=min(old, length))

        for other in inside:
            runs = [(w.length, "sheathed" not in w.marks) for w in other.wires if w is not wire]
            for length, bare in runs if other.kind == "wire" else [(0.0, False)]:
                way(other.u, other.v, length, bare)
                if other.kind != "cutoff":
                    way(other.v, other.u, length, bare)
        away = nx.multi_source_dijkstra_path_length(layers, {(t, False) for t in stretch.terminals})
        return tuple(min(away.get((edge.u, seen), INF), away.get((edge.v, seen), INF)) for seen in (False, True))


# ---------------------------------------------------------------------------------------------------------------
# Loops: networkx biconnected_components.


def return_loops(circuit):
    """The return graph without the meters' shunts; one finding for each part in which any two edges lie on a common
    loop; the subject is the part's last wire in the order of statements, or where it has none the last component.
    Every edge gets a node in its middle, so that two edges side by side (a wire and a tie) are a loop for networkx."""
    graph, middle = nx.Graph(), {}
    for i, e in enumerate(circuit.metal):
        if e.u in circuit.returns and e.u not in circuit.live and e.kind != "meter" and e.u != e.v:
            middle["edge", i] = e
            graph.add_edge(e.u, ("edge", i))
            graph.add_edge(("edge", i), e.v)
    subjects = []
    for part in nx.biconnected_components(graph):
        edges = [middle[n] for n in part if n in middle]
        if len(part) > 2:
            subjects.append(last_of(edges))
    return sorted(subjects)


def last_of(edges):
    wires = [e for e in edges if e.kind == "wire"]
    return max(wires or edges, key=lambda e: e.order).name


def bond_loops(circuit):
    """Take a chassis out of the metal graph: from the part that holds a battery's negative, more than one edge (wires
    side by side as one) goes to it; the subject is the last of them (a wire, where one is among them)."""
    subjects = []
    minus = {s.minus for s in circuit.sources if s.part.kind == "battery"}
    for chassis in circuit.chassis:
        frame = circuit.node(chassis.name)
        graph = nx.Graph()
        graph.add_nodes_from(minus - {frame})
        graph.add_edges_from((e.u, e.v) for e in circuit.metal if frame not in (e.u, e.v))
        to_frame = [e for e in circuit.metal if (e.u == frame) != (e.v == frame)]
        for part in nx.connected_components(graph):
            edges = [e for e in to_frame if e.u in part or e.v in part]
            if part & minus and len(edges) > 1:
                subjects.append(last_of(edges))
    return sorted(subjects)


# ---------------------------------------------------------------------------------------------------------------
# Comparison.

CHECKS = [
    "role", "let-through", "circulation", "cut: sum", "cut: disconnects", "cut: nearest the wire",
    "stretch: on one", "stretch: length", "stretch: limit", "stretch: followed", "stretch: devices",
    "return.bypass", "bond.extra",
]  # fmt: skip


def close(a, b):
    return a is not None and b is not None and max(a, b) < INF and abs(a - b) <= 1e-9 * max(1.0, abs(a), abs(b))


def words_for(value):
    """A flow as the program writes it: a word and a figure."""
    if value is None:
        return None, None
    if value == INF:
        return "unlimited", None
    return ("none" if value == 0 else "limited"), value


def same_flow(said, figure, value):
    word, amount = words_for(value)
    return said == word and (figure is None if amount is None else close(figure, amount))


def compare(path, told):
    """Every difference between what the program told of a design and what is computed here, and the counts."""
    counts, bad = Counter(), []

    def check(what, holds, text):
        counts[what, "compared"] += 1
        if holds:
            counts[what, "equal"] += 1
        else:
            bad.append((what, text))

    circuit = Circuit(Design(path))
    flows, stretches = Flows(circuit), Stretches(circuit)
    if list(told["wires"]) != list(circuit.design.wires):
        return counts, [("role", f"wires differ: {list(told['wires'])} against {list(circuit.design.wires)}")], 0
    ratings = {e.name: e.rating for e in circuit.edges if e.device()}
    ratings.update({s.name: s.limit for s in circuit.sources})
    done = {}
    for name, wire in circuit.design.wires.items():
        said, edge, role = told["wires"][name], circuit.group[name], circuit.role(wire)
        check("role", said["role"] == role, f"{name}: {said['role']}, here {role}")
        if id(edge) not in done:
            done[id(edge)] = flows.let_through(edge) if role == "live" else None, flows.circulation(edge)
        through, around = done[id(edge)]
        # What all wires side by side carry together is shared by conductance.
        share = wire.conductance() / sum(w.conductance() for w in edge.wires)
        part = lambda value: value * share if value not in (None, INF) else value  # noqa: E731
        total = through[0] if through else 0.0
        text = f"{name}: {said['let_through']} {said['let_through_a']}, here {part(total)} (share {share:.4f})"
        check("let-through", same_flow(said["let_through"], said["let_through_a"], part(total)), text)
        text = f"{name}: {said['circulation']} {said['circulation_a']}, here {part(around)} (share {share:.4f})"
        check("circulation", same_flow(said["circulation"], said["circulation_a"], part(around)), text)
        if through and 0 < total < INF:
            names, (_, ends, graph) = set(said["protected_by"]), through
            largest = [e for e in ends if close(e[0], total)]
            total_said = sum(ratings.get(n, math.nan) for n in names)
            check("cut: sum", close(total_said, total), f"{name}: {sorted(names)} add up to {total_said}, here {total}")
            holds = any(flows.cut_disconnects(graph, end, names) for _, _, end in largest)
            check("cut: disconnects", holds, f"{name}: a source still reaches it without {sorted(names)}")
            holds = any(names == cut for _, cut, _ in largest)
            text = f"{name}: {sorted(names)}, here {[sorted(cut) for _, cut, _ in largest]}"
            check("cut: nearest the wire", holds, text)
        compare_stretch(stretches, name, said["stretch"], check)
    findings = told["findings"]
    for rule, subjects in (("return.bypass", return_loops(circuit)), ("bond.extra", bond_loops(circuit))):
        said = sorted(f["subject"] for f in findings if f["rule"] == rule)
        counts[rule, "found"] += len(said)
        check(rule, said == subjects, f"{said}, here {subjects}")
    return counts, bad, len(circuit.design.wires)


def compare_stretch(stretches, name, said, check):
    if any(r is None for r in stretches.results):
        check("stretch: too many paths, left out", True, "")
        return
    mine = [(s, r[name]) for s, r in zip(stretches.found, stretches.results) if name in r]
    check("stretch: on one", (said is not None) == bool(mine), f"{name}: {said}, here {[m for _, m in mine]}")
    if said is None or not mine:
        return
    named = [m for s, m in mine if said["source"] in s.names]
    text = f"{name}: {said}, here {[(s.name, m) for s, m in mine]}"
    # Of several stretches the worst is told: one that is not followed before one that is.
    worst = all(m["followed"] for _, m in mine)
    check("stretch: followed", said["followed"] == worst, text)
    named = [m for m in named if m["followed"] == said["followed"]]
    check("stretch: length", any(close(said["length_m"], m["length_m"]) for m in named), text)
    named = [m for m in named if close(said["length_m"], m["length_m"])]
    check("stretch: limit", any(close(said["limit_m"], v) for m in named for v in m["limit_m"]), text)
    check("stretch: devices", any(close(said["devices_a"], m["devices_a"]) for m in named), text)


# ---------------------------------------------------------------------------------------------------------------
# Random designs: no shorts and no wrong polarity by construction, otherwise wild.

RATINGS = [1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 150, 200]
SIZES = [1.5, 2.5, 4, 6, 10, 16, 25, 35, 50]
LENGTHS = [0.1, 0.12, 0.15, 0.18, 0.2, 0.3, 0.4, 0.5, 0.8, 1, 1.5, 2, 3, 5]


KIT = """
kit branch (plus: terminal, minus: terminal, run: length, rating: current) {
  fuse F $rating blade volts 80 V
  load lamp 24 V 2 A
  wire tail from $plus to F.line 2.5 mm2 0.15 m
  wire go from F.load to lamp.+ 2.5 mm2 $run
  wire back from lamp.- to $minus 4 mm2 $run
}
"""


class Island:
    """One network of positives and the negatives that belong to it."""

    def __init__(self, volts):
        self.volts, self.plus, self.minus, self.frame = volts, [], [], None


class Generator:
    def __init__(self, rng, name):
        self.rng, self.name = rng, name
        self.components, self.wires, self.counter = [], [], Counter()
        self.upper, self.tallies = set(), []  # batteries whose `-` is no negative; meters in the return
        self.care = rng.choice([0.3, 1, 1, 1.3])  # how often there is a device

    def chance(self, share):
        return self.rng.random() < share

    def component(self, kind, text=""):
        self.counter[kind] += 1
        name = f"{kind[:2]}{kind[-1]}{self.counter[kind]}"
        self.components.append(f"{kind} {name} {text}".rstrip())
        return name

    def wire(self, a, b, marks="", length=None, single=False):
        """One wire, or now and then several side by side: equal, unequal, or by `count`."""
        rng = self.rng
        size, length = rng.choice(SIZES), length or rng.choice(LENGTHS)
        shape = "one" if single else rng.choices(["one", "equal", "unequal", "count"], [82, 6, 6, 6])[0]
        runs = {
            "one": [(size, length, "")],
            "count": [(size, length, f"count {rng.randint(2, 3)}")],
            "equal": [(size, length, "")] * rng.randint(2, 3),
            "unequal": [(rng.choice(SIZES), rng.choice(LENGTHS), rng.choice(["", "", "count 2"])) for _ in range(2)],
        }[shape]
        for run_size, run_length, count in runs:
            self.counter["wire"] += 1
            ends = (a, b) if shape == "one" or self.chance(0.7) else (b, a)
            more = " ".join(x for x in (marks, count, "sheathed" if self.chance(0.2) else "") if x)
            unit = f"{run_length * 1000:g} mm" if self.chance(0.1) else f"{run_length:g} m"
            name = f"W{self.counter['wire']}"
            self.wires.append(f"wire {name} from {ends[0]} to {ends[1]} {run_size:g} mm2 {unit} {more}".rstrip())

    def two_sided(self, kind):
        """A thing with two sides, as (first, second) in the direction of supply."""
        rng, amps = self.rng, self.rng.choice(RATINGS)
        if kind == "fuse":
            kinds = ["blade", "bolt-in", "class-t"]
            return self.sides("fuse", f"{amps} A {rng.choice(kinds)} volts 80 V", "line", "load")
        if kind == "breaker":
            return self.sides("breaker", f"{amps} A volts 80 V", "line", "load")
        if kind == "cutoff":
            return self.sides("cutoff", "100 A", "line", "load")
        if kind == "meter":
            return self.sides("meter", "300 A 50 mV", *rng.sample(["bat", "sys"], 2))
        rest = " open" if kind == "switch" and self.chance(0.2) else ""
        return self.sides(kind, f"100 A{rest}", *rng.sample(["a", "b"], 2))

    def sides(self, kind, text, first, second):
        name = self.component(kind, text)
        return f"{name}.{first}", f"{name}.{second}"

    def chain(self, start, end, kinds):
        """Metal from start to end through the kinds in turn, with a wire or a bolt between."""
        at = start
        for kind in kinds:
            near, far = self.two_sided(kind)
            if kind == "fuse" and "." not in at and self.chance(0.3):
                self.components[-1] += f" on {at}"
                if not near.endswith("line"):
                    near, far = far, near
            elif self.chance(0.2):
                self.wires.append(f"bolt {at} to {near}")
            else:
                self.wire(at, near)
            at = far
        if kinds and self.chance(0.1):
            self.wires.append(f"bolt {at} to {end}")
        else:
            self.wire(at, end)

    def live_kinds(self, protected=0.6):
        kinds = []
        if self.chance(protected * self.care):
            kinds.append(self.rng.choices(["fuse", "breaker"], [3, 1])[0])
        if self.chance(0.25):
            kind = self.rng.choices(["switch", "plug", "meter", "cutoff"], [4, 2, 1, 2])[0]
            kinds.insert(self.rng.randint(0, len(kinds)), kind)
        if kinds and self.chance(0.1):
            kinds.append("fuse")
        return kinds

    def island(self):
        rng = self.rng
        island = Island(rng.choice([12, 24, 48]))
        for sign in ("plus", "minus"):
            nodes = getattr(island, sign)
            for _ in range(rng.randint(1, 4)):
                nodes.append(self.component(*(("post", "M8 300 A") if self.chance(0.4) else ("bar", "M8 x 6 300 A"))))
            for i in range(1, len(nodes)):
                self.between(sign, nodes[rng.randrange(i)], nodes[i])
            if len(nodes) > 1:
                for _ in range(rng.choice([0, 1, 2, 3]) if sign == "plus" else rng.choice([0, 0, 0, 1, 2])):
                    self.between(sign, *rng.sample(nodes, 2))
        if self.chance(0.4):
            island.frame = self.component("chassis")
            if self.chance(0.05):
                self.wires.append(f"bolt {island.frame} to {island.minus[0]}")
            for _ in range(rng.choice([0, 1, 1, 1, 2])):
                self.wire(rng.choice(island.minus), island.frame, rng.choice(["", "bond", "bond"]))
        for _ in range(rng.choice([1, 1, 2, 2, 3])):
            self.source(island)
        for _ in range(rng.randint(1, 4)):
            if self.chance(0.15):
                self.fit(island)
            else:
                self.load(island)
        if self.chance(0.2):
            self.sense(island)
        if self.chance(0.2):
            self.hub(island)
        return island

    def between(self, sign, a, b):
        if self.chance(0.03):
            self.wires.append(f"bolt {a} to {b}")
        elif sign == "plus":
            self.chain(a, b, self.live_kinds())
        else:
            choices = [[], ["meter"], ["switch"], ["fuse"], ["breaker"], ["plug"]]
            kinds = self.rng.choices(choices, [14, 4, 1, 1, 1, 1])[0]
            self.chain(a, b, kinds)
            self.tallies += [c.split()[1] for c in self.components[-1:] if kinds == ["meter"]]

    def home(self, island, terminal):
        """From a negative to the return, now and then to a second place."""
        if island.frame and self.chance(0.1):
            self.wire(terminal, island.frame)
        else:
            self.wire(terminal, self.rng.choice(island.minus))
        if self.chance(0.05):
            self.wire(terminal, self.rng.choice(island.minus), self.rng.choice(["", "bond"]))

    def battery(self, volts, like=None):
        chemistry, capacity = self.rng.choice(["agm", "lead-acid", "lifepo4", "gel"]), self.rng.choice([80, 100, 200])
        like = like or f"{chemistry} {volts} V {capacity} Ah fault 2 kA"
        return self.component("battery", like), like

    def source(self, island):
        rng, volts = self.rng, island.volts
        shape = rng.choice(["battery", "battery", "bank", "string", "supply", "alternator", "solar", "ac", "cranking"])
        if shape in ("battery", "cranking"):
            name, _ = self.battery(volts)
            self.feed(island, f"{name}.+")
            self.home(island, f"{name}.-")
            if shape == "cranking":
                self.cranking(island, name)
        elif shape == "bank":
            self.bank(island)
        elif shape == "string" and volts > 12:
            first = self.string(island)
            if self.chance(0.3):  # a second one beside it, joined at the top and at the bottom
                second = self.string(island, first[2])
                self.wire(f"{first[1]}.+", f"{second[1]}.+", length=rng.choice([0.3, 0.5, 0.6]))
        elif shape == "supply":
            fused, fault = f"fused {rng.choice(RATINGS)} A", "fault 1 kA"
            more = rng.choice(["", fused, fault, fused + " " + fault])
            name = self.component("supply", f"{volts} V {rng.choice(RATINGS)} A {more}")
            self.feed(island, f"{name}.+")
            self.home(island, f"{name}.-")
        elif shape == "alternator":
            mounted = island.frame and self.chance(0.5)
            returns = f"returns {island.frame}" if mounted else ""
            name = self.component("alternator", f"{volts} V {rng.choice([60, 90, 140])} A {returns}")
            self.feed(island, f"{name}.+")
            if not mounted or self.chance(0.2):
                self.home(island, f"{name}.-")
        elif shape == "solar":
            isc, strings = rng.choice([5, 9, 11]), rng.randint(1, 3)
            name = self.component("solar", f"voc 44 V isc {isc} A vmp 36 V imp 4 A strings {strings}")
            amps, inside = rng.choice([20, 35, 50]), rng.choice(["common", "isolated"])
            charger = self.component(
                "charger", f"from solar in 30 A in-max 150 V out {volts} V {amps} A {inside}"
            )
            self.chain(f"{name}.+", f"{charger}.in+", rng.choice([[], ["fuse"], ["switch"]]))
            self.wire(f"{name}.-", f"{charger}.in-")
            if self.chance(0.3):
                more = self.component("solar", "voc 44 V isc 9 A vmp 36 V imp 4 A")
                self.wire(f"{more}.+", f"{name}.+")
                self.wire(f"{more}.-", f"{name}.-")
            self.feed(island, f"{charger}.out+")
            self.home(island, f"{charger}.out-")
        else:
            name = self.component("charger", f"from ac out {volts} V {rng.choice([10, 30, 60])} A")
            self.feed(island, f"{name}.out+")
            self.home(island, f"{name}.out-")

    def feed(self, island, plus):
        """A source's positive to the network, now and then in two places."""
        for _ in range(2 if self.chance(0.15) else 1):
            self.chain(plus, self.rng.choice(island.plus), self.live_kinds(0.8))

    def bank(self, island):
        rng = self.rng
        first, like = self.battery(island.volts)
        members = [first] + [self.battery(island.volts, like)[0] for _ in range(rng.randint(1, 2))]
        short = rng.choices([[0.2, 0.3, 0.5], [0.6, 0.8]], [4, 1])[0]
        shape = rng.choice(["row", "star", "fused"])
        if shape == "row":
            for a, b in zip(members, members[1:]):
                self.wire(f"{a}.+", f"{b}.+", length=rng.choice(short))
                self.wire(f"{a}.-", f"{b}.-")
            self.feed(island, f"{members[0]}.+")
            self.home(island, f"{members[-1]}.-")
        elif shape == "star":
            hub = self.component("post", "M8 300 A")
            for m in members:
                self.wire(f"{m}.+", hub, length=rng.choice(short))
                self.wire(f"{m}.-", island.minus[0])
            self.feed(island, hub)
        else:
            for m in members:
                self.feed(island, f"{m}.+")
                self.wire(f"{m}.-", island.minus[0])

    def string(self, island, like=None):
        rng = self.rng
        low, like = self.battery(island.volts // 2, like)
        high, _ = self.battery(island.volts // 2, like)
        self.upper.add(high)
        link = rng.choice(["wire", "wire", "fuse", "post"])
        if link == "wire":
            self.wire(f"{low}.+", f"{high}.-")
        elif link == "fuse":
            self.chain(f"{low}.+", f"{high}.-", ["fuse"])
        else:
            post = self.component("post", "M8 300 A")
            self.wire(f"{low}.+", post)
            self.wire(post, f"{high}.-")
        self.feed(island, f"{high}.+")
        self.home(island, f"{low}.-")
        if self.chance(0.3):
            tapped = self.component("load", f"{island.volts // 2} V 2 A")
            self.chain(f"{low}.+", f"{tapped}.+", self.live_kinds(0.8))
            self.home(island, f"{tapped}.-")
        return low, high, like

    def cranking(self, island, battery):
        rng = self.rng
        mounted = island.frame and self.chance(0.6)
        name = self.component("load", f"{island.volts} V 2 kW motor" + (f" returns {island.frame}" if mounted else ""))
        at = f"{battery}.+"
        if self.chance(0.5):
            near, far = self.two_sided("switch")
            self.wire(at, near, "cranking")
            if self.chance(0.5):
                tapped = self.component("load", f"{island.volts} V 3 A")
                self.chain(far, f"{tapped}.+", self.live_kinds(0.8))
                self.home(island, f"{tapped}.-")
            at = far
        self.wire(at, f"{name}.+", "cranking")
        if not mounted:
            self.wire(f"{name}.-", rng.choice(island.minus), "cranking")
        if self.chance(0.3):
            self.chain(f"{name}.+", rng.choice(island.plus), ["fuse"])

    def load(self, island):
        rng = self.rng
        mounted = ""
        kind = rng.choices(["load", "inverter"], [5, 1])[0]
        if kind == "load" and island.frame and self.chance(0.15):
            mounted = f"returns {island.frame}"
        name = self.component(kind, f"{island.volts} V {rng.choice([20, 60, 200])} W {mounted}")
        self.chain(rng.choice(island.plus), f"{name}.+", self.live_kinds(0.8))
        if self.chance(0.1):
            self.chain(rng.choice(island.plus), f"{name}.+", self.live_kinds(0.8))
        if not mounted:
            self.home(island, f"{name}.-")
        if kind == "inverter" and island.frame and self.chance(0.5):
            self.wire(f"{name}.case", island.frame, "bond")

    def fit(self, island):
        """A load in a kit: its wires are named within the fitting, and stand where it is fitted."""
        rng = self.rng
        self.counter["fit"] += 1
        self.counter["wire"] += 3
        given = f"plus = {rng.choice(island.plus)}, minus = {rng.choice(island.minus)}, run = {rng.choice(LENGTHS):g} m"
        self.wires.append(f"fit branch as K{self.counter['fit']} ({given}, rating = {rng.choice(RATINGS):g} A)")

    def sense(self, island):
        meters = [c.split()[1] for c in self.components if c.startswith("meter")]
        if meters:
            self.chain(self.rng.choice(island.plus), f"{self.rng.choice(meters)}.sense", ["fuse"])

    def hub(self, island):
        name = self.component("hub", "6 W")
        self.chain(self.rng.choice(island.plus), f"{name}.+", ["fuse"])
        self.home(island, f"{name}.-")
        kinds = ("battery", "inverter", "charger")
        others = [c.split()[1] for c in self.components if c.startswith(kinds)]
        others = [o for o in others if o not in self.upper] + self.tallies
        if others:
            lead = f"data D{name} from {self.rng.choice(others)}.data to {name}.data 2 m"
            self.wires.append(lead + self.rng.choice(["", "", " isolated", " 0.5 mm2"]))

    def charger(self, a, b):
        """A charger from one island to the other."""
        rng = self.rng
        many = self.chance(0.3)
        given, inside = rng.choice([15, 25, 60]), rng.choice(["isolated", "common"])
        text = f"in {a.volts} V {rng.choice([20, 40])} A out {b.volts} V {given} A {inside}"
        name = self.component("charger", text + (" outputs 2" if many else ""))
        self.chain(rng.choice(a.plus), f"{name}.in+", self.live_kinds(0.8))
        common = "common" in text
        if not common or self.chance(0.6):
            self.home(a, f"{name}.in-")
        for output in ("out1+", "out2+") if many else ("out+",):
            self.chain(f"{name}.{output}", rng.choice(b.plus), self.live_kinds())
        self.home(b, f"{name}.out-")

    def whole(self):
        rng = self.rng
        islands = [self.island() for _ in range(rng.choice([1, 1, 1, 2, 2, 3]))]
        for a, b in zip(islands, islands[1:]):
            for _ in range(rng.choice([1, 1, 2])):
                self.charger(*rng.sample([a, b], 2))
            for _ in range(rng.choice([0, 0, 1])):
                self.wire(rng.choice(a.minus), rng.choice(b.minus), rng.choice(["", "bond"]))
        if self.chance(0.5):
            rng.shuffle(self.components)
        lines = [f"design {self.name} \"Made at random\"", "assume insulation 105 C"]
        if self.counter["fit"]:
            lines += KIT.strip().splitlines()
        return "\n".join(lines + self.components + self.wires) + "\n"


def generate(rng, name):
    while True:
        generator = Generator(rng, name)
        text = generator.whole()
        if 10 <= generator.counter["wire"] <= 80:
            return text


def work(job):
    path, told = job
    try:
        return path, *compare(path, told)
    except Exception as error:  # noqa: BLE001 (which design it was must be told)
        return path, Counter(), [("role", f"the check itself failed: {error!r}\n{traceback.format_exc()}")], 0


CORNERS = pathlib.Path(__file__).parent / "corners"  # small designs that random ones seldom come to
SKIP = ("connection.short", "connection.polarity")


def run(binary, folder, root):
    """All designs of a folder in one document, less those whose judgement leaves wires out."""
    command = [binary, "check", str(folder), "--root", str(root), "--as", "json", "--explain-all", "--fail-at", "never"]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    if not result.stdout:
        sys.exit(f"{' '.join(command)} gave nothing: {result.stderr}")
    jobs, left_out = [], []
    for told in json.loads(result.stdout)["designs"]:
        path = pathlib.Path(told["file"])
        path = path if path.exists() else folder / path.name
        rules = [f["rule"] for f in told["findings"]]
        if told.get("wires") is None or any(r in SKIP or r.startswith("language.") for r in rules):
            left_out.append((path, {key: told[key] for key in told if key != "wires"}))
        else:
            jobs.append((path, told))
    return jobs, left_out


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("binary")
    parser.add_argument("samples", type=pathlib.Path)
    parser.add_argument("--count", type=int, default=320)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=pathlib.Path, help="write the random designs here and leave them")
    parser.add_argument("--all", action="store_true", help="print every difference")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = options.keep or pathlib.Path(made)
        folder.mkdir(exist_ok=True, parents=True)
        for i in range(options.count):
            text = generate(random.Random(options.seed * 1_000_003 + i), f"wild-{i}")
            (folder / f"wild-{i:04}.loom").write_text(text, encoding="utf-8")
        jobs, left_out = run(options.binary, folder, folder)
        corners, corners_left_out = run(options.binary, CORNERS, CORNERS)
        jobs, left_out = jobs + corners, left_out + corners_left_out
        samples, samples_left_out = run(options.binary, options.samples, options.samples)
        with multiprocessing.Pool(max(1, os.cpu_count() or 1)) as pool:
            results = pool.map(work, jobs + samples, chunksize=4)
        report(results, left_out, samples_left_out, options)
        wrong = [r for r in results if r[2]]
        if wrong or left_out:
            sys.exit(1)


def report(results, left_out, samples_left_out, options):
    counts = sum((r[1] for r in results), Counter())
    wires = sorted(r[3] for r in results)
    print(f"{len(results)} designs, {sum(wires)} wires ({wires[0]} to {wires[-1]} in one)")
    print(f"{len(samples_left_out)} samples with a short, a wrong polarity or a language error left out")
    print(f"{'checked':24} {'compared':>9} {'equal':>9}")
    for what in CHECKS + sorted(what for what, kind in counts if "left out" in what and kind == "compared"):
        print(f"{what:24} {counts[what, 'compared']:9} {counts[what, 'equal']:9}")
    for rule in ("return.bypass", "bond.extra"):
        print(f"{rule}: {counts[rule, 'found']} findings")
    for path, told in left_out[:3]:
        print(f"\n{path.name} could not be judged whole: {json.dumps(told)}")
        print(path.read_text(encoding="utf-8"))
    wrong = sorted((r for r in results if r[2]), key=lambda r: r[3])
    print(f"\n{len(wrong)} designs differ" if wrong else "\nno difference")
    if options.all:
        for path, _, bad, _ in wrong:
            for what, text in bad:
                print(f"{path.name}: {what}: {text}")
    for what in CHECKS:
        differing = [path.name for path, _, bad, _ in wrong if what in {w for w, _ in bad}]
        if differing:
            print(f"{what}: {len(differing)} designs, the smallest {differing[0]}")
    for path, _, bad, _ in wrong[:1]:
        print(f"\nthe smallest, {path.name}:\n{path.read_text(encoding='utf-8')}")
        for what, text in bad:
            print(f"{what}: {text}")


if __name__ == "__main__":
    main()
