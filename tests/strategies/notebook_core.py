"""What is on the board of the drawn notebook: processor, memory blocks and TPM."""

from strategies.drawn_tree import Content
from strategies.notebook_cards import text

MODEL = "Calder C5 2100"
THREADS = 4
CPUS = "sys/devices/system/cpu"
BLOCKS = "sys/devices/system/memory"
TPM = "sys/devices/platform/FNTP0001:00"


def draw_processor_threads(files: dict[str, Content]) -> None:
    """Two cores with two threads each, cool since the start."""
    for name in ("online", "present", "possible"):
        files[f"{CPUS}/{name}"] = text(f"0-{THREADS - 1}")
    blocks: list[str] = []
    for thread in range(THREADS):
        folder = f"{CPUS}/cpu{thread}"
        files[f"{folder}/topology/physical_package_id"] = text(0)
        files[f"{folder}/topology/core_cpus_list"] = text(f"{thread % 2},{thread % 2 + 2}")
        files[f"{folder}/cpufreq/cpuinfo_max_freq"] = text(4_200_000)
        for what in ("core", "package"):
            files[f"{folder}/thermal_throttle/{what}_throttle_count"] = text(0)
        blocks.append(f"processor\t: {thread}\nmodel name\t: {MODEL}\nmicrocode\t: 0xf4\n")
    files["proc/cpuinfo"] = text("\n".join(blocks))


def draw_blocks(files: dict[str, Content], mib: int) -> None:
    """All memory in blocks of 1 GiB."""
    files[f"{BLOCKS}/block_size_bytes"] = text("40000000")
    for block in range(mib // 1024):
        files[f"{BLOCKS}/memory{block}/state"] = text("online")


def draw_tpm(files: dict[str, Content], links: dict[str, str]) -> None:
    """A TPM 2.0 into which firmware and Secure Boot were measured."""
    place = f"{TPM}/tpm/tpm0"
    links["sys/class/tpm/tpm0"] = place
    links[f"{place}/device"] = TPM
    links[f"{TPM}/driver"] = "sys/bus/acpi/drivers/tpm_crb"
    files["sys/firmware/acpi/tables/TPM2"] = b"not read\n"
    files[f"{place}/tpm_version_major"] = text(2)
    for register, digits in ((0, "3d45"), (7, "65ca")):
        files[f"{place}/pcr-sha256/{register}"] = text((digits * 16).upper())
