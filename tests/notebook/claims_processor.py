"""What lscpu, lsmem, tpm2-tools and udevadm say of processor, memory blocks and TPM."""

import json
from collections.abc import Iterator, Mapping

from notebook.opinions import ToolOutput
from notebook.parsed_text import labelled, parts_by_device
from notebook.shown import Claim, Shown

ANNOUNCING = {"TPM2", "TCPA"}


def lscpu_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every socket is a processor; lscpu counts the cores of one."""
    tool = "lscpu"
    fields = {
        str(one["field"]).rstrip(":"): str(one["data"])
        for one in json.loads(outputs[tool].text)["lscpu"]
    }
    yield shown.how_many(tool, "processor", int(fields["Socket(s)"]))
    highest = fields.get("CPU max MHz")
    told = {
        "model": fields["Model name"],
        "cores": int(fields["Core(s) per socket"]),
        "threads_present": int(fields["CPU(s)"]),
        "threads_online": count_listed(fields["On-line CPU(s) list"]),
        "maximum_frequency_khz": None if highest is None else round(float(highest) * 1000),
    }
    yield from shown.only("processor").claims(tool, told)


def lsmem_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The sum of the blocks that are online, in bytes."""
    tool = "lsmem"
    told = {"online_bytes": int(labelled(outputs[tool].text)["Total online memory"])}
    yield from shown.only("main_memory").claims(tool, told)


def tpm_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """That there is one and of which version; what its registers hold, bank by bank."""
    tool = "tpm2"
    there = parts_by_device(outputs[tool])
    yield shown.how_many(tool, "tpm", len(there))
    for properties in there.values():
        family = properties.split("TPM2_PT_FAMILY_INDICATOR", 1)[1].split('value: "', 1)[1]
        told = {"present": True, "version_major": int(family.split(".")[0])}
        yield from shown.only("tpm").claims(tool, told)
    for registers in parts_by_device(outputs["tpm2-registers"]).values():
        banks = _banks(registers)
        strongest_first = sorted(banks, key=lambda bank: -len(banks[bank]["0"]))
        told_of_registers: dict[str, object] = {"banks": tuple(strongest_first)}
        for number in ("0", "7"):
            measured = any(set(bank[number]) != {"0"} for bank in banks.values())
            told_of_registers[f"pcr{number}_measured"] = measured
        yield from shown.only("tpm").claims("tpm2-registers", told_of_registers)


def announcement_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """A TPM is there where an ACPI table announces one, and the other way round."""
    tool = "acpidump"
    tables = {line.split()[1] for line in outputs[tool].text.splitlines() if line}
    announced = ANNOUNCING & tables
    yield shown.how_many(tool, "tpm", len(announced))
    if announced:
        yield from shown.only("tpm").claims(tool, {"announced": True})


def udevadm_tpm_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The driver that serves it."""
    tool = "udevadm-tpm"
    there = parts_by_device(outputs[tool])
    yield shown.which(tool, "tpm", there)
    for label, properties in there.items():
        told = {"driver": labelled(properties, "=")["DRIVER"]}
        yield from shown.device("tpm", label).claims(tool, told)


def count_listed(text: str) -> int:
    """How many numbers `0-3,8` lists."""
    spans = [part.partition("-") for part in text.split(",")]
    return sum(int(last or first) - int(first) + 1 for first, _, last in spans)


def _banks(text: str) -> dict[str, dict[str, str]]:
    """The digits of each register by its number, by the bank that it is in."""
    banks: dict[str, dict[str, str]] = {}
    registers: dict[str, str] = {}
    for line in text.split("\n"):
        label, marked, value = line.partition(":")
        if marked and not value.strip():
            registers = banks.setdefault(label.strip(), {})
        elif marked:
            registers[label.strip()] = value.strip().removeprefix("0x")
    return banks
