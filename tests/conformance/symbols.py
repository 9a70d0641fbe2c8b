"""What zxing-cpp (PyPI, Apache-2.0) finds in a picture, as a scanner would send it."""
import zxingcpp
from PIL import Image


def all_in(picture):
    """Every symbol's characters behind its symbology identifier (ISO/IEC 15424)."""
    image = picture if isinstance(picture, Image.Image) else Image.open(picture)
    found = zxingcpp.read_barcodes(image.convert("L"), text_mode=zxingcpp.TextMode.Plain)
    return [each.symbology_identifier + each.bytes.decode("ascii") for each in found]


def only(picture):
    """The characters of the one symbol in the picture."""
    found = all_in(picture)
    assert len(found) == 1, f"{picture}: {len(found)} symbols"
    return found[0]
