"""Draws the invented units of `closeout demo` and records them: profiles/demo/*/unit.jsonl.gz.

Run it again after a change of the readers (`make demo-units`): evidence holds exactly the
questions that they ask. A test compares what is shipped with what this draws.
"""

import sys
from dataclasses import replace
from pathlib import Path
from typing import Final
from uuid import UUID

TOP: Final = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(TOP / "tests"))

from closeout.check import ROUNDS  # noqa: E402 - the drawings are found first
from closeout.kernel.capture import Conditions, record_tree  # noqa: E402
from closeout.kernel.evidence import Evidence  # noqa: E402
from closeout.kernel.evidence_file import encode_evidence  # noqa: E402
from closeout.model.report import Moment  # noqa: E402
from strategies.edid import EdidPlan, TimingPlan, build_edid  # noqa: E402
from strategies.msdm import MsdmPlan, build_msdm  # noqa: E402
from strategies.notebook import Module, Pack, Plan, UsbPlan, draw_notebook  # noqa: E402

DEMO: Final = TOP / "profiles" / "demo"
UNIT_FILE: Final = "unit.jsonl.gz"

FINGERPRINT: Final = UsbPlan(
    port="1-4",
    ids="fe21:0007",
    maker="Tessery",
    product="Touch Reader",
    triple="ff/00/00",
    driver=None,
)
CAMERA: Final = UsbPlan(
    port="1-6",
    ids="fe22:0c31",
    maker="Oculine",
    product="Lid Camera",
    triple="0e/01/00",
    driver="uvcvideo",
)
BLUETOOTH: Final = UsbPlan(
    port="1-10",
    ids="fe13:0607",
    maker="Larkway",
    product="Bluetooth Radio",
    triple="e0/01/01",
    driver="btusb",
)
FULL_HD: Final = build_edid(
    EdidPlan(letters="ZQL", product=0x1405, texts=("LUMENLEAF", "LL140-F1"))
)
THREE_BY_TWO: Final = build_edid(
    EdidPlan(
        letters="ZQL",
        product=0x0D13,
        texts=("LUMENLEAF", "LL135-Q2"),
        size_centimetres=(29, 19),
        timings=(
            TimingPlan(width=2256, height=1504, clock_hz=219_000_000, millimetres=(285, 190)),
        ),
    )
)
LICENCE: Final = build_msdm(MsdmPlan(key=b"BDFHK-MPRTV-WY234-67892-CGJQN"))

FEN: Final = Plan(
    maker="Northlake",
    product="Fen 14",
    version="B",
    serial="NL7QK42D",
    uuid=UUID("8c0f2a56-41d3-4e7b-9a20-5be16c7d3f04"),
    sku="FEN14-EU08",
    family="Fen",
    asset_tag="DEPOT-0417",
    board="FEN14-MB",
    board_serial="MB40718833",
    firmware="1.18",
    firmware_date="09/14/2026",
    modules=(Module(locator="SODIMM A", gib=8), Module(locator="SODIMM B", gib=0)),
    packs=(Pack(model="VT-52-3", serial="VT0931", design_mwh=52000, full_mwh=49100, cycles=61),),
    licence=LICENCE,
    drive_model="Peatstone P40 256",
    drive_serial="PS25628841",
    drive_gib=238,
    usb=(FINGERPRINT, CAMERA, BLUETOOTH),
    panel=FULL_HD,
)

UNITS: Final = {
    "fen-14-healthy": FEN,
    "fen-14-ribbon-left-out": replace(
        FEN,
        serial="NL7QK51M",
        uuid=UUID("5ad1c3b0-77e2-4f19-b6c8-02f4be9d6a11"),
        asset_tag=None,
        board_serial="MB40718910",
        usb=(CAMERA, BLUETOOTH),
    ),
    "skerry-13-new-board": Plan(
        maker="Tarnfell",
        product="To be filled by O.E.M.",
        version=None,
        serial=None,
        uuid=None,
        sku="Default string",
        family=None,
        asset_tag="No Asset Tag",
        board="SK13-A",
        board_serial="SKA26110254",
        firmware="T08.11",
        firmware_date="03/02/2026",
        modules=(Module(locator="ONBOARD A", gib=8), Module(locator="ONBOARD B", gib=8)),
        packs=(
            Pack(model="VT-45-2", serial="VT4410", design_mwh=45000, full_mwh=41800, cycles=112),
        ),
        licence=None,
        drive_model="Peatstone P40 512",
        drive_serial="PS51230077",
        drive_gib=476,
        usb=(CAMERA, BLUETOOTH),
        panel=THREE_BY_TWO,
    ),
    "osier-15-worn-pack": Plan(
        maker="Quillmark",
        product="Osier 15",
        version="2",
        serial="QM9-55T-1078",
        uuid=UUID("c7e4412d-90ab-4c3d-8e55-1d20a7f6b93c"),
        sku="OS15-2A",
        family="Osier",
        asset_tag="DEPOT-0399",
        board="OSIER15",
        board_serial="QB2207761",
        firmware="3.07",
        firmware_date="05/21/2026",
        modules=(Module(locator="SODIMM A", gib=8), Module(locator="SODIMM B", gib=0)),
        packs=(
            Pack(model="VT-57-3", serial="VT2260", design_mwh=57000, full_mwh=29600, cycles=843),
        ),
        licence=LICENCE,
        drive_model="Peatstone P20 512",
        drive_serial="PS51219002",
        drive_gib=476,
        usb=(CAMERA, BLUETOOTH),
        panel=FULL_HD,
    ),
}


def draw_unit(plan: Plan) -> Evidence:
    """The evidence of a drawn unit; its clock stands still, so the bytes are always the same."""
    moment = Moment(text="2026-11-20T09:00:00Z", source="invented, for the demo")
    conditions = Conditions(agent="closeout demo", clock=lambda: 0, moment=lambda: moment)
    return record_tree(draw_notebook(plan), ROUNDS, conditions)


def main() -> None:
    """Writes the evidence of every unit."""
    for folder, plan in UNITS.items():
        file = DEMO / folder / UNIT_FILE
        file.write_bytes(encode_evidence(draw_unit(plan)))
        print(file.relative_to(TOP))


if __name__ == "__main__":
    main()
