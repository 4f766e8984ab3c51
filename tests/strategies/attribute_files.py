"""What an attribute file may answer: text of its kind, any bytes, or an errno."""

import errno

from hypothesis import strategies as st

from strategies.drawn_tree import Content

ERRNOS = (
    errno.ENOENT,
    errno.EACCES,
    errno.EIO,
    errno.ENODEV,
    errno.ENODATA,
    errno.EINVAL,
    errno.ETIMEDOUT,
)

WORDS = (
    b"",
    b"\n",
    b" \n",
    b"0\n",
    b"1\n",
    b"-1\n",
    b"9223372036854775808\n",
    b"0x8086\n",
    b"Battery\n",
    b"Unknown\n",
    b"Default string\n",
    b"ff:ff:ff:ff:ff:ff\n",
    b"PCI_ID=8086:2723\n",
    b"0-3,8\n",
    b"processor: 0\nmodel name: Calder\n",
    b"MemTotal: 1 kB\n",
    b"E:MEMORY_DEVICE_1_SIZE=8\n",
    b"\x18\x05\x00\x00\x40\x00\x00\x7f\x04\x01\x00\x00\x00",
    b"E:ID_MODEL_ENC=\\x20\\xff\n",
)

contents: st.SearchStrategy[Content] = st.one_of(
    st.sampled_from(WORDS), st.binary(max_size=80), st.sampled_from(ERRNOS)
)
"""Content of any attribute file, with the words that readers look for drawn often."""
