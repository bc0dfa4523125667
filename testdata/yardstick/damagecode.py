"""Damage codes, and the plan of one lot: what is charged for certain and what may be."""

import re
from dataclasses import dataclass, field

ZONES = ("nose", "front-near", "front-off", "side-near", "side-off", "rear-near", "rear-off",
         "tail", "roof", "under", "bay", "cabin", "whole")
IMPACT = ZONES[:10]  # METHOD.md 2.2
CLASSES = "scrme"
MARK = re.compile(r"([scrme])([1-4])(?:(\?)([1-9][0-9]?)?|(-))?")
NEVER = 9  # a grade above every grade


@dataclass
class Marks:
    """What the code says of one zone and class."""
    seen: int = 0
    suspected: dict = field(default_factory=dict)  # grade: chance, 0 to 1
    absent: int = NEVER  # this grade and above were looked for and are not there


def parse(text, default_chance):
    """{(zone, class): Marks} of a damage code; {} for "none"."""
    marks = {}
    if text.strip().lower() == "none":
        return marks
    for group in text.lower().split(";"):
        words = re.sub(r"[,:/]", " ", group).split()
        if not words:
            continue
        zone = words[0]
        if zone not in ZONES:
            raise ValueError(f'"{zone}" is not a zone')
        if len(words) == 1:
            raise ValueError(f'"{zone}" has no mark')
        for word in words[1:]:
            m = MARK.fullmatch(word)
            if not m:
                raise ValueError(f'"{zone} {word}" is not a mark')
            here = marks.setdefault((zone, m[1]), Marks())
            grade = int(m[2])
            if m[5]:
                here.absent = min(here.absent, grade)
            elif m[3]:
                if grade in here.suspected:
                    raise ValueError(f'"{zone} {word}": the grade is written twice')
                here.suspected[grade] = int(m[4]) / 100 if m[4] else default_chance
            else:
                if here.seen:
                    raise ValueError(f'"{zone} {word}": two seen grades')
                here.seen = grade
    for (zone, cls), here in marks.items():
        coded = [here.seen, *here.suspected]
        if here.suspected and min(here.suspected) <= here.seen:
            raise ValueError(f'"{zone} {cls}": suspected at or below the seen grade')
        if here.absent <= max(coded):
            raise ValueError(f'"{zone} {cls}": not there, at or below a coded grade')
    return marks


def suspect_structure(marks, chance):
    """Adds a suspected s2, in place, in the zone hit worst where nothing structural is coded.

    Worst: impact zones before the others, then the highest coded grade, then the largest sum of grades, then the order
    of ZONES. A zone whose code rules s2 out is passed over (METHOD.md 4.7). Returns whether it added."""
    if chance <= 0 or any(cls == "s" and (m.seen or m.suspected) for (_, cls), m in marks.items()):
        return False
    best = None
    for zone in ZONES:
        grades = [g for (z, _), m in marks.items() if z == zone for g in (m.seen, *m.suspected) if g]
        if grades and marks.get((zone, "s"), Marks()).absent > 2:
            rank = (zone in IMPACT, max(grades), sum(grades))
            if best is None or rank > best[0]:
                best = (rank, zone)
    if best:
        marks.setdefault((best[1], "s"), Marks()).suspected[2] = chance
    return best is not None


@dataclass
class Candidate:
    """One uncertain grade of one zone and class. It occurs where its score passes the point
    with chance 1 - miss * product of table[state of group] over `states`."""
    zone: str
    cls: str
    grade: int
    miss: float
    states: list = field(default_factory=list)  # [((zone, class), [miss of each state])]


@dataclass
class Group:
    """One zone and class: the seen grade (0: none) and its candidates, worst first."""
    zone: str
    cls: str
    seen: int
    candidates: list


def plan(marks, segment, shop):
    """The groups of a lot, suspected candidates and hidden ones included.

    States of a trigger group: 0 is its seen grade (or nothing), k its k-th suspected grade."""
    uncertain = {}
    fired = {}
    for key, m in marks.items():
        grades = sorted(m.suspected)
        for g in grades:
            uncertain[(*key, g)] = Candidate(*key, g, 1 - m.suspected[g])
        rules = [shop.fires(*key, h, segment) if h else {} for h in (m.seen, *grades)]
        for target in set().union(*rules):
            fired.setdefault(target, []).append((key, [1 - r.get(target, 0.0) for r in rules]))
    for target in sorted(fired):
        zone, cls, grade = target
        m = marks.get((zone, cls), Marks())
        if grade <= m.seen or grade in m.suspected or grade >= m.absent:
            continue
        miss, states = 1.0, []
        for key, table in sorted(fired[target]):
            if min(table) == max(table):
                miss *= table[0]
            else:
                states.append((key, table))
        if miss < 1 or states:
            uncertain[target] = Candidate(zone, cls, grade, miss, states)
    by_group = {key: [] for key, m in marks.items() if m.seen}
    for (zone, cls, _), c in sorted(uncertain.items(), key=lambda kv: -kv[0][2]):
        by_group.setdefault((zone, cls), []).append(c)
    return [Group(*key, marks[key].seen if key in marks else 0, cs) for key, cs in by_group.items()]
