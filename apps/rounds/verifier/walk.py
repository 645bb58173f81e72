"""One stated tour, walked with the clock: are its times possible and its figures right?"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from apps.rounds.verifier.fault import Fault


def walk(document: dict[str, Any], tour: dict[str, Any], tolerance: float) -> Iterator[Fault]:
    """Every rule that the tour, with the times it states, breaks."""
    yield from _Walk(document, tour, tolerance).faults()


class _Walk:
    """Somebody on the way: where, when, with what."""

    def __init__(self, document: dict[str, Any], tour: dict[str, Any], tolerance: float) -> None:
        self.errands = {each["code"]: each for each in document["errands"]}
        [self.carrier] = [e for e in document["carriers"] if e["code"] == tour["carrier"]]
        self.ways = document["ways"][self.carrier["ways"]]
        self.tour, self.tolerance = tour, tolerance
        self.name = self.carrier["code"]
        self.on_cart = {
            each["code"]
            for each in self.errands.values()
            if each["fetch"] is None and each["carrier"] == self.name
        }
        self.load_g = sum(self.errands[code]["amount_g"] for code in self.on_cart)
        self.here, self.clock = self.carrier["start"], tour["depart_s"]
        self.metres = self.gram_metres = 0

    def faults(self) -> Iterator[Fault]:
        """From setting out to being back."""
        if self.clock < self.carrier["from_s"] - self.tolerance:
            yield Fault("shift", self.name, self.clock, f"{self.name} sets out too early.")
        yield from self._load(self.name)
        yield from self._rests_kept()
        for number, visit in enumerate(self.tour["visits"]):
            yield from self._visit(number, visit)
        yield from self._back()

    def _visit(self, number: int, visit: dict[str, Any]) -> Iterator[Fault]:
        label = f"{self.name} {number + 1}"
        errand = self.errands[visit["errand"]]
        end = errand[visit["side"]]
        yield from self._may_go(errand, end, visit, label)
        arrived = self._go(end["place"])
        yield from self._times(number, visit, end, arrived, label)
        if visit["side"] == "fetch":
            self.on_cart.add(errand["code"])
            self.load_g += errand["amount_g"]
        else:
            self.on_cart.discard(errand["code"])
            self.load_g -= errand["amount_g"]
        if self.load_g != visit["load_g"]:
            yield Fault("load", label, self.load_g, f"{label}: carries {self.load_g} g.")
        yield from self._load(label)
        self.clock = visit["leave_s"]

    def _go(self, place: int) -> float:
        """Walk there; return when that is."""
        way = self.ways["metres"][self.here][place]
        arrived: float = self.clock + self.ways["seconds"][self.here][place]
        self.metres += way
        self.gram_metres += way * self.load_g
        self.here = place
        return arrived

    def _may_go(
        self, errand: dict[str, Any], end: dict[str, Any], visit: dict[str, Any], label: str
    ) -> Iterator[Fault]:
        if end["place"] in self.carrier["avoids"]:
            yield Fault("avoid", label, end["place"], f"{label}: may not go to {end['place']}.")
        if errand["carrier"] not in (None, self.name):
            yield Fault("bound", label, 0, f"{label}: {errand['code']} is {errand['carrier']}'s.")
        if (visit["side"] == "fetch") == (errand["code"] in self.on_cart):
            yield Fault("order", label, 0, f"{label}: {errand['code']} out of order.")

    def _times(
        self,
        number: int,
        visit: dict[str, Any],
        end: dict[str, Any],
        arrived: float,
        label: str,
    ) -> Iterator[Fault]:
        if abs(visit["arrive_s"] - arrived) > self.tolerance:
            yield Fault("time", label, arrived, f"{label}: arrives at {arrived}.")
        ready = max(self._after_rests(number, arrived), end["from_s"])
        if visit["begin_s"] < ready - self.tolerance:
            yield Fault("time", label, ready, f"{label}: the work begins before it can.")
        if visit["begin_s"] > end["till_s"] + self.tolerance:
            late = visit["begin_s"] - end["till_s"]
            yield Fault("window", label, late, f"{label}: {late} s after the window.")
        if abs(visit["leave_s"] - visit["begin_s"] - end["service_s"]) > self.tolerance:
            yield Fault("time", label, visit["leave_s"], f"{label}: leaves at the wrong time.")

    def _load(self, label: str) -> Iterator[Fault]:
        over = self.load_g - self.carrier["load_limit_g"]
        if over > 0:
            yield Fault("load", label, over, f"{label}: {over} g over the limit.")

    def _rests_kept(self) -> Iterator[Fault]:
        rests, given = self.tour["rests"], self.carrier["breaks"]
        if len(rests) != len(given):
            yield Fault("break", self.name, len(rests), f"{self.name}: a break is missing.")
            return
        for rest, asked in zip(rests, given, strict=True):
            if rest["length_s"] != asked["length_s"]:
                yield Fault(
                    "break", self.name, rest["length_s"], f"{self.name}: a break cut short."
                )
            early = asked["from_s"] - self.tolerance
            if not early <= rest["begin_s"] <= asked["till_s"] + self.tolerance:
                yield Fault("break", self.name, rest["begin_s"], f"{self.name}: a break off time.")

    def _after_rests(self, number: int, arrived: float) -> float:
        """When work can begin at a visit whose breaks are taken on arrival. A break said to
        begin before the arrival, or before the last one ended, counts from then: the visit's own
        time betrays it."""
        for rest in self.tour["rests"]:
            if rest["before"] == number:
                arrived = max(arrived, rest["begin_s"]) + rest["length_s"]
        return arrived

    def _back(self) -> Iterator[Fault]:
        half_done = sorted(code for code in self.on_cart if self.errands[code]["bring"])
        if half_done:
            kept = ", ".join(half_done)
            yield Fault("half_done", self.name, len(half_done), f"{self.name} keeps {kept}.")
        back = self._after_rests(len(self.tour["visits"]), self._go(self.carrier["end"]))
        if abs(self.tour["back_s"] - back) > self.tolerance:
            yield Fault("time", self.name, back, f"{self.name} is back at {back}.")
        if back > self.carrier["till_s"] + self.tolerance:
            late = back - self.carrier["till_s"]
            yield Fault("shift", self.name, late, f"{self.name} comes back {late} s too late.")
        slip = self.tolerance * max(1, len(self.tour["visits"]))
        if abs(self.tour["metres"] - self.metres) > slip:
            yield Fault("claim", self.name, self.metres, f"{self.name} goes {self.metres} metres.")
        if abs(self.tour["gram_metres"] - self.gram_metres) > slip * 1_000_000:
            yield Fault(
                "claim",
                self.name,
                self.gram_metres,
                f"{self.name}: {self.gram_metres} gram-metres.",
            )
