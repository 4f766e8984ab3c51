"""A healthy invented notebook to take apart."""

from uuid import UUID

from strategies.edid import EdidPlan, build_edid
from strategies.msdm import MsdmPlan, build_msdm
from strategies.notebook import Module, Pack, Plan, UsbPlan

KEY = b"BDFHK-MPRTV-WY234-67892-CGJQN"
HEALTHY = Plan(
    maker="Norwel",
    product="Slate",
    version="1",
    serial="NW83KD20",
    uuid=UUID("3f2a9c1e-6b74-4d05-8e1a-c4d7b0925e36"),
    sku="SLATE-2",
    family="Slate",
    asset_tag=None,
    board="SL-MB",
    board_serial="MB77120954",
    firmware="2.11",
    firmware_date="02/03/2026",
    modules=(Module(locator="DIMM A", gib=8), Module(locator="DIMM B", gib=8)),
    packs=(Pack(model="VT-50", serial="VT9920", design_mwh=50000, full_mwh=46000, cycles=87),),
    licence=build_msdm(MsdmPlan(key=KEY)),
    drive_model="Peatstone P40 256",
    drive_serial="PS77120004",
    drive_gib=238,
    usb=(
        UsbPlan(
            port="1-10",
            ids="fe13:0607",
            maker="Larkway",
            product="Bluetooth Radio",
            triple="e0/01/01",
            driver="btusb",
        ),
    ),
    panel=build_edid(EdidPlan()),
)
