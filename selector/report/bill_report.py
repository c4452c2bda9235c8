"""The utility bills of a design: as JSON, and as the few lines that a screen has room for."""

from __future__ import annotations

from typing import Any

from selector.decide.evaluate import Evaluation
from selector.inputs.site import Site
from selector.money.tariff import Bill, BillLine, DesignBill, Fuel
from selector.report.text import MONTHS, Show

# quantities of a bill in the units of the bills themselves
_SHOWN = {"J": ("kWh", 3.6e6), "W": ("kW", 1000.0)}
_KINDS = {"energy": "energy", "demand": "demand", "tax": "tax", "carbon": "carbon"}


def bill_json(bill: DesignBill | None) -> dict[str, Any] | None:
    """Write what a design adds to the bills, and both bills line by line.

    Args: bill, None under flat prices. Returns: plain values; energy in kWh, demand in kW, lists by month.
    """
    if bill is None:
        return None
    return {
        "electricity": bill.electricity,
        "gas": bill.gas,
        "with_design": _bill(bill.whole),
        "other_load_alone": _bill(bill.other),
    }


def _bill(bill: Bill) -> dict[str, Any]:
    return {
        "electricity": bill.electricity,
        "gas": bill.gas,
        "peak_kw": [peak / 1000.0 for peak in bill.peaks],
        "lines": [_line(line) for line in bill.lines],
    }


def _line(line: BillLine) -> dict[str, Any]:
    unit, size = _SHOWN.get(line.unit, (line.unit, 1.0))
    return {
        "fuel": line.fuel,
        "kind": line.kind,
        "name": line.name,
        "block": line.block or None,
        "unit": unit,
        "rate": line.rate * size,
        "quantities": [quantity / size for quantity in line.quantities],
        "amounts": list(line.amounts),
        "total": line.total,
    }


def _added(bill: DesignBill, fuel: Fuel) -> dict[str, float]:
    """What the design adds to each kind of line of one fuel."""
    added = dict.fromkeys(_KINDS, 0.0)
    for which, sign in ((bill.whole, 1.0), (bill.other, -1.0)):
        for line in which.lines:
            if line.fuel == fuel and line.kind in added:
                added[line.kind] += sign * line.total
    return added


def bill_texts(evaluation: Evaluation, site: Site, show: Show) -> tuple[tuple[str, str], ...]:
    """Say what a design adds to the bills, the building's peak and the carbon, in a line each.

    Args: evaluation; site; show. Returns: label and text of each line; bills only under a tariff.
    """
    costs = evaluation.costs
    lines: list[tuple[str, str]] = []
    if costs.bill is not None:
        fuels: tuple[tuple[Fuel, float], ...] = (
            ("electricity", costs.bill.electricity),
            ("gas", costs.bill.gas),
        )
        for fuel, total in fuels:
            parts = [
                f"{word} {amount:,.0f}"
                for word, amount in _added(costs.bill, fuel).items()
                if abs(amount) >= 0.5
            ]
            detail = f": {', '.join(parts)}" if len(parts) > 1 else ""
            label = "Bills" if fuel == "electricity" else ""
            lines.append((label, f"{fuel} {show(total, 'money_per_year')}{detail}"))
        if site.costs.other_load is not None:
            alone = costs.bill.other.electricity
            lines.append(("", f"beyond the {show(alone, 'money_per_year')} that the other load costs alone"))
    peak = f"{show(costs.peak, 'electric_power', 3)} in the building's highest hour"
    if costs.bill is not None:
        peaks = costs.bill.whole.peaks
        peak += f" ({MONTHS[peaks.index(max(peaks))]})"
    if site.costs.other_load is not None:
        peak += f"; the other load alone {show(float(site.costs.other_load.max()), 'electric_power', 3)}"
    lines.append(("Peak", peak))
    carbon = f"{costs.carbon_electricity / 1000.0:,.1f} t/year of electricity"
    if costs.carbon_gas > 0.0:
        carbon += f", {costs.carbon_gas / 1000.0:,.1f} t/year of gas"
    lines.append(("Carbon", carbon))
    return tuple(lines)
