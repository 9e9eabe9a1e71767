"""One list of sources. Tables, steps and tests name a source by its key here; nothing else spells a title."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Source:
    """A text that numbers come from.

    Attributes
    ----------
    key : how tables and steps name it
    title : what it is called
    edition : year or edition
    short : as a reader sees it beside a number
    """

    key: str
    title: str
    edition: str
    short: str


SOURCES = {
    s.key: s
    for s in (
        Source("cfr-183-425", "33 CFR 183.425, Conductors: general, Table 5", "as published", "33 CFR 183.425"),
        Source("cfr-183-455", "33 CFR 183.455, Overcurrent protection: general", "as published", "33 CFR 183.455"),
        Source("iec-60228", "IEC 60228, Conductors of insulated cables, Tables 2 and 3", "2004", "IEC 60228"),
        Source("astm-b258", "ASTM B258, Nominal diameters of solid round wires (AWG = B&S)", "as quoted", "ASTM B258"),
        Source("sae-j1127", "SAE J1127 and J1128, battery and low-tension cable, minimum areas", "as quoted", "SAE J1127"),
        Source("iso-6722-1", "ISO 6722-1, road-vehicle cable, maximum resistance", "as quoted", "ISO 6722-1"),
        Source("trade-diameter", "Cable makers' sheets of cables named by overall diameter, compared", "as quoted", "makers' cable sheets"),
        Source("iec-60028", "IEC 60028, Resistance of copper", "as quoted", "IEC 60028"),
        Source("nbs-100", "NBS Handbook 100, Copper wire tables", "1966", "NBS Handbook 100"),
        Source("iec-60287-1-1", "IEC 60287-1-1, Current rating of cables, Table 1", "as quoted", "IEC 60287-1-1"),
        Source("iec-60364-5-54", "IEC 60364-5-54, annex A: the factor k", "as quoted", "IEC 60364-5-54"),
        Source("iec-60364-4-43", "IEC 60364-4-43, Table 43A: k for common conductors", "as quoted", "IEC 60364-4-43"),
        Source("iso-8820", "ISO 8820 parts 3 to 6, Fuse-links for road vehicles", "2015", "ISO 8820"),
        Source("fuse-sheets", "Fuse makers' data sheets, transcribed in one public engineering note", "as quoted", "fuse makers' data sheets"),
        Source("cfr-75-601-3", "30 CFR 75.601-3, Short circuit protection; dual element fuses", "as published", "30 CFR 75.601-3"),
        Source("neets", "US Navy training text on circuit protection: fuse sizing rule", "as quoted", "US Navy training text"),
        Source("as-nzs-3001-2", "AS/NZS 3001.2, clause 5.4, as summarised on a public guidance page", "2022", "AS/NZS 3001.2"),
        Source("faa-43-13", "FAA AC 43.13-1B, chapter 11, wire selection", "as quoted", "FAA AC 43.13-1B"),
        Source("abyc-e11", "ABYC E-11, voltage-drop rule, as quoted by public cable charts", "as quoted", "ABYC E-11"),
        Source("metric-example", "A public worked example of voltage drop in metric units", "as published", "a metric worked example"),
        Source("iso-10133", "ISO 10133, Small craft, extra-low-voltage d.c. installations", "2012", "ISO 10133"),
        Source("bci", "Battery Council International, open-circuit voltage and gravity against charge", "as quoted", "BCI"),
        Source("tm-5-4210", "US Army TM 5-4210-230-14&P-1, tables 2 and 3", "as published", "US Army TM 5-4210-230-14&P-1"),
        Source("tm-5-3805", "US Army TM 5-3805-262-20, page 5-142", "as published", "US Army TM 5-3805-262-20"),
        Source("tm-9-6140", "US Army TM 9-6140-200-14, storage batteries", "as published", "US Army TM 9-6140-200-14"),
        Source("tm-5-1185", "US Army TM 5-1185, starting system: batteries, tables II and IV", "as published", "US Army TM 5-1185"),
        Source("cold-start-page", "A public page on starting in the cold: power that a battery has and an engine needs", "as published", "a page on cold starts"),
        Source("agm-vehicle", "An off-road vehicle maker's owner manual, sealed battery table", "as published", "a vehicle maker's manual"),
        Source("sign-manual", "A highway sign's service manual, rest-voltage chart for deep-cycle batteries", "as published", "a highway sign's manual"),
        Source("freezing-vehicle", "An off-road vehicle maker's manual, electrolyte freezing table", "as published", "a vehicle maker's freezing table"),
        Source("test-guides", "Public battery test guides on resting before reading, compared", "as published", "battery test guides"),
        Source("pv-worksheets", "Stand-alone solar battery worksheets, cold multiplier, compared", "as published", "solar sizing worksheets"),
        Source("tm-10-6140", "US Army TM 10-6140-200-14, motive batteries", "as published", "US Army TM 10-6140-200-14"),
        Source("simses-lfp", "SimSES lithium iron phosphate cell data (M. Naumann, TU Munich)", "2018", "Naumann 2018"),
        Source("peukert-1897", "W. Peukert, on the capacity of lead accumulators at other currents", "1897", "Peukert 1897"),
        Source("peukert-texts", "Public texts on Peukert's law, compared", "as published", "texts on Peukert's law"),
        Source("schiffer-2007", "Schiffer et al., J. Power Sources 168, 66-78", "2007", "Schiffer et al. 2007"),
        Source("manwell-1993", "Manwell and McGowan, Solar Energy 50, 399-405", "1993", "Manwell and McGowan 1993"),
        Source("controller-manual", "A charge-controller manual's default table, generic battery types", "as published", "a charge-controller manual"),
        Source("vrla-sheets", "Gel and AGM battery data sheets, compared", "as published", "battery data sheets"),
        Source("battery-education", "A public battery-education text, lead-acid voltages per cell", "as published", "a battery-education text"),
        Source("flooded-table", "A public table of charge voltages for flooded batteries, at 20 °C", "as published", "a public charge-voltage table"),
        Source("tractor-manual", "A tractor maker's manual, battery charging", "as published", "a tractor manual"),
        Source("lfp-sheets", "Lithium iron phosphate cell and pack specifications, compared", "as published", "cell and pack specifications"),
        Source("iec-62485-2", "IEC 62485-2, Safety of stationary batteries, clause 7 and its table", "as quoted", "IEC 62485-2"),
        Source("iec-62485-3", "IEC 62485-3 (EN 50272-3), Safety of traction batteries, ventilation", "as quoted", "IEC 62485-3"),
        Source("nicd-example", "A public worked example of ventilation for a nickel-cadmium battery", "as published", "a ventilation worked example"),
        Source("swedish-rule", "An old Swedish rule for the air of battery rooms, as quoted on a public page", "as quoted", "an old Swedish rule"),
        Source("drop-tests", "Vehicle makers' and testers' service manuals on voltage-drop tests, compared", "as published", "service manuals on drop tests"),
        Source("charging-guide", "A public guide to drop tests of a charging circuit, seen once", "as published", "a guide to charging circuits"),
        Source("tm-10-3930", "US Army TM 10-3930-671-24, voltage drop of battery cables", "as published", "US Army TM 10-3930-671-24"),
        Source("alternator-service", "Vehicle service data and an engine manual on regulator set points", "as published", "vehicle service data"),
        Source("dc-dc-manual", "A DC-DC charger's manual, how it finds out that the engine runs", "as published", "a DC-DC charger's manual"),
        Source("controller-manuals", "Solar controllers' manuals on absorption time and leaving float, compared", "as published", "solar controllers' manuals"),
        Source("fridge-manuals", "Compressor fridge makers' texts on battery protection, compared", "as published", "fridge makers' texts"),
        Source("ineichen-2008", "Ineichen, A broadband simplified version of the Solis clear sky model, Solar Energy 82, 758-762", "2008", "Ineichen 2008"),
        Source("kasten-1980", "Kasten and Czeplak, Solar and terrestrial radiation dependent on the amount and type of cloud, Solar Energy 24, 177-189", "1980", "Kasten and Czeplak 1980"),
        Source("michalsky-1988", "Michalsky, The Astronomical Almanac's algorithm for approximate solar position, Solar Energy 40, 227-235", "1988", "Michalsky 1988"),
        Source("reda-2004", "Reda and Andreas, Solar position algorithm for solar radiation applications, NREL/TP-560-34302, worked example", "2004", "Reda and Andreas 2004"),
        Source("standard-listings", "Public listings of standards, titles and numbers compared", "as published", "listings of standards"),
        Source("ohm", "Ohm's and Kirchhoff's laws", "-", "Ohm's law"),
        Source("practice", "Common practice, no source", "-", "common practice, no source"),
        Source("memory", "From memory, not checked against a text", "-", "from memory"),
    )
}  # fmt: skip


def cite(key: str, where: str = "") -> str:
    """Return a source as a reader sees it, with the place in it: "33 CFR 183.425, Table 5"."""
    try:
        short = SOURCES[key].short
    except KeyError:
        raise KeyError(f"no source “{key}”; there are: {', '.join(sorted(SOURCES))}") from None
    return f"{short}, {where}" if where else short
