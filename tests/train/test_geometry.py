"""Cameras and wheels, against OpenCV's pinhole camera (cv2.projectPoints)."""

import cv2
import numpy as np
import pytest

# torch comes with the extra "train" only: it is larger than all the rest together, and nothing
# outside reader/train uses it. Install that extra to run these.
torch = pytest.importorskip("torch")
torch.set_num_threads(1)  # waiting for each other costs small tensors more than it gains

from reader.train.render import geometry

SIZE = (480, 640)


@pytest.fixture(params=range(3))
def view(request):
    generator = torch.Generator().manual_seed(request.param)
    view = geometry.draw_view(generator, 24, SIZE, (6.0, 60.0), 0.3)
    where = torch.rand(2, 24, generator=generator)
    geometry.place(view, where[0] * SIZE[1], where[1] * SIZE[0])
    return exact(view)


def exact(view):
    return geometry.View(**{name: value.double() for name, value in vars(view).items()})


def spots(count, low, high, seed=9):
    generator = torch.Generator().manual_seed(seed)
    both = torch.rand(2, 24, count, generator=generator, dtype=torch.float64)
    return low + (high - low) * both


@pytest.mark.parametrize("seed", range(3))
def test_from_plane_undoes_to_plane(seed):
    # 0.5 radians keep the horizon out of the picture, beyond which there is no plane
    generator = torch.Generator().manual_seed(seed)
    view = geometry.draw_view(generator, 24, SIZE, (6.0, 60.0), 0.3, steepest=0.5)
    view = exact(view)
    x, y = spots(50, 0, 480)
    back = geometry.from_plane(view, *geometry.to_plane(view, x, y))
    assert torch.allclose(back[0], x, atol=1e-6)
    assert torch.allclose(back[1], y, atol=1e-6)


def test_from_sheet_undoes_to_sheet(view):
    s, r = spots(50, -6, 6)
    back = geometry.to_sheet(view, *geometry.from_sheet(view, s, r))
    assert torch.allclose(back[0], s, atol=1e-6)
    assert torch.allclose(back[1], r, atol=1e-6)


def test_the_camera_is_opencvs(view):
    u, v = spots(20, -150, 150)
    x, y = geometry.from_plane(view, u, v)
    for k in range(24):
        focal, azimuth = float(view.focal[k]), float(view.azimuth[k])
        axis = np.array([-np.sin(azimuth), np.cos(azimuth), 0.0])
        camera = np.array([[focal, 0, view.axis_x[k]], [0, focal, view.axis_y[k]], [0, 0, 1]])
        points = torch.stack([u[k], v[k], torch.zeros_like(u[k])], -1).numpy()
        turn, away = axis * float(view.tilt[k]), np.array([0.0, 0.0, focal])
        expected = cv2.projectPoints(points, turn, away, camera, None)[0][:, 0]
        assert np.allclose(torch.stack([x[k], y[k]], -1).numpy(), expected, atol=1e-6)


def test_a_line_of_a_wheels_sheet_is_a_circle_about_the_hub(view):
    s, _ = spots(30, -6, 6)
    r = torch.full_like(s, 1.5)
    u, v = geometry.from_sheet(view, s, r)
    reach = torch.hypot(u - view.centre_x[:, None], v - view.centre_y[:, None])
    for k in (~torch.isinf(view.radius)).nonzero()[:, 0]:
        assert torch.allclose(reach[k], (view.radius[k] - 1.5 * view.cap[k]).expand(30))


def test_the_sheets_middle_appears_where_it_was_placed():
    generator = torch.Generator().manual_seed(4)
    view = geometry.draw_view(generator, 24, SIZE, (6.0, 60.0), 0.3)
    x, y = torch.linspace(100, 500, 24), torch.linspace(80, 400, 24)
    geometry.place(view, x, y)
    zero = torch.zeros(24, 1)
    seen = geometry.from_plane(view, *geometry.from_sheet(view, zero, zero))
    assert torch.allclose(seen[0][:, 0], x, atol=0.05)
    assert torch.allclose(seen[1][:, 0], y, atol=0.05)
