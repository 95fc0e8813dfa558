from pathlib import Path

import matplotlib as mpl
import pytest


@pytest.fixture(scope="session")
def fonts():
    """Fonts that every check-out has: DejaVu Sans (Bitstream Vera licence), inside matplotlib."""
    folder = Path(mpl.get_data_path(), "fonts", "ttf")
    return [folder / "DejaVuSans.ttf", folder / "DejaVuSans-Bold.ttf"]
