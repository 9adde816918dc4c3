"""A picture as a monitor is to show it: where it lies, what is marked on it, and the monitor's own codes.

It takes video signal as ITU-R BT.1886 shows it (light = signal ** 2.4) and gives what the monitor is said to
take, with less than a code of noise so that no gradient shows steps. Nothing here corrects a colour.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from lamphouse.nodes.primitive import Form
from lamphouse.nodes.trace import picture
from lamphouse.viewer import colours
from lamphouse.viewer.glsl.opengl import GL
from lamphouse.viewer.glsl.shader import fill, linked
from lamphouse.viewer.glsl.source import function_of
from lamphouse.viewer.glsl.textures import TableTexture
from lamphouse.viewer.models.frame import Lie
from lamphouse.viewer.models.monitors import Monitor
from lamphouse.viewer.picture.monitor import monitor_code
from lamphouse.viewer.turn.display import Look

Textures = Mapping[str, int]  # by what the shader calls them: graded, other, judged, matte
_SEEN: Final = {"": 0, "over": 1, "alone": 2}
NOTHING: Final = Lie(window=(0.0, 0.0, 0.0, 0.0))

_HEAD: Final = """#version 330 core
uniform sampler2D graded;
uniform sampler2D other;
uniform vec4 area;       // left, top, width, height of what is seen, in pixels of the window's part
uniform vec3 across[2];  // of graded and other: which place of it the frame shows, in shares of both
uniform vec3 down[2];
uniform vec4 edges[2];   // left, top, right, bottom of what is seen of it, in its shares
uniform vec4 window[2];  // and of the part of the frame that it is seen in; without width where it lacks
uniform vec3 edge;       // of a wipe: its direction and place, in heights of the picture from its middle
uniform float line;      // half the width of the edge, in pixels
uniform float seam;      // from there to the right the other is seen, at the same place; 0 nowhere
uniform vec2 limits;     // signal below and above which pixels are marked; equal where none are
uniform sampler2D judged;  // which places of the frame are marked instead, where something was judged
uniform bool is_judged;
uniform sampler2D matte;   // of the graded picture
uniform float surround;    // the code about the frame
uniform vec3 seat;       // where the first pixel is drawn, and which way lines follow: 1 up, -1 down
out vec4 shown;
"""
_WORDS: Final = f"""
const int OVER = {_SEEN["over"]}, ALONE = {_SEEN["alone"]};
const float TINTED = 0.6;  // how much of the tint lies where a matte is clear (our choice)
const vec3 TINT = vec3({", ".join(map(str, colours.ACCENT[:3]))});
"""
_MAIN: Final = """
float noise(vec2 at) { return fract(52.9829189 * fract(dot(at, vec2(0.06711056, 0.00583715)))); }
void main() {
    vec2 at = (gl_FragCoord.xy - seat.xy) * vec2(1.0, seat.z);
    bool is_beside = COMPARES && seam > 0.0 && at.x > seam;
    vec2 place = (at - vec2(is_beside ? seam : 0.0, 0.0) - area.xy) / area.zw;
    float beyond = dot((place - 0.5) * vec2(area.z / area.w, 1.0), edge.xy) - edge.z;
    bool is_other = COMPARES && (is_beside || beyond >= 0.0);
    int which = is_other ? 1 : 0;
    vec4 open = window[which];
    if (open.z <= open.x || any(lessThan(place, vec2(0.0))) || any(greaterThan(place, vec2(1.0)))) {
        shown = vec4(vec3(surround / 255.0), 1.0);
        return;
    }
    vec2 under = vec2(dot(across[which], vec3(place, 1.0)), dot(down[which], vec3(place, 1.0)));
    vec4 seen = edges[which];
    bool is_black = any(lessThan(place, open.xy)) || any(greaterThan(place, open.zw))
        || any(lessThan(under, seen.xy)) || any(greaterThan(under, seen.zw));
    vec2 raster = vec2(is_other ? textureSize(other, 0) : textureSize(graded, 0));
    vec2 texel = 0.5 / raster, within = clamp(under, seen.xy + texel, seen.zw - texel);
    vec3 signal = is_other ? texture(other, within).rgb : texture(graded, within).rgb;
    ivec2 pixel = ivec2(within * raster);
    if (NEAREST) signal = is_other ? texelFetch(other, pixel, 0).rgb : texelFetch(graded, pixel, 0).rgb;
    bool is_matte = MATTE != 0 && !is_other && !is_black;
    float share = !is_matte ? 1.0 : NEAREST ? texelFetch(matte, pixel, 0).r : texture(matte, within).r;
    if (MATTE == ALONE && is_matte) signal = vec3(share);
    if (is_black) signal = vec3(0.0);
    vec3 code = monitor_code(signal);
    if (MATTE == OVER) code = mix(code, TINT, TINTED * (1.0 - clamp(share, 0.0, 1.0)));
    if (MARKS) {
        bool out_of = any(lessThan(signal, vec3(limits.x))) || any(greaterThan(signal, vec3(limits.y)));
        if (is_judged) out_of = !is_other && texture(judged, place).r > 0.5;
        if (out_of && mod(at.x + at.y, 8.0) < 4.0) code = vec3(1.0) - code;
    }
    if (COMPARES && abs(beyond) * area.w < line) code = vec3(0.6);
    shown = vec4(code + (noise(at) - 0.5) / 255.0, 1.0);
}
"""


class DisplayStep:
    """The step to one monitor. Needs a GL 3.3 context, on its thread."""

    def __init__(self, monitor: Monitor) -> None:
        self._code = function_of("monitor_code", monitor_code(picture("signal"), monitor))
        self._programs: dict[str, int] = {}
        self._corners = int(GL.glGenVertexArrays(1))
        self._table: TableTexture | None = None
        if monitor.table is not None:
            self._table = TableTexture(Form.LATTICE)
            self._table.write(monitor.table)

    def draw(self, look: Look, textures: Textures) -> None:
        """Draw textures as `look` has them into one that is bound, of `look.size`, its first row on top."""
        self._use(look, textures, (0, 0, 1))
        fill(self._corners, look.size)

    def paint(self, look: Look, height: int, textures: Textures) -> None:
        """Draw textures as `look` has them into a window that is bound and `height` pixels high."""
        assert look.corner is not None
        (left, top), (width, tall) = look.corner, look.size
        GL.glEnable(GL.GL_SCISSOR_TEST)
        GL.glScissor(left, height - top - tall, width, tall)
        GL.glClearColor(*(look.surround / 255,) * 3, 1.0)
        GL.glClear(GL.GL_COLOR_BUFFER_BIT)
        first, above, last, below = _seen(look)
        if first < last and above < below:
            self._use(look, textures, (left, height - top, -1))
            fill(self._corners, (last - first, below - above), (left + first, height - top - below))

    def _use(self, look: Look, textures: Textures, seat: tuple[int, int, int]) -> None:
        """Make the shader of a look the one that draws; what it does not do costs nothing."""
        parts = {"COMPARES": look.compares, "MARKS": look.marks, "NEAREST": look.is_nearest}
        said = "".join(f"const bool {name} = {str(does).lower()};\n" for name, does in parts.items())
        said += f"const int MATTE = {_SEEN[look.matte]};\n"
        if said not in self._programs:
            self._programs[said] = linked(_HEAD + said + self._code + _WORDS + _MAIN)
        program = self._programs[said]
        GL.glUseProgram(program)
        for unit, (name, texture) in enumerate(textures.items()):
            _bind(program, unit, name, GL.GL_TEXTURE_2D, texture)
        if self._table is not None:
            _bind(program, len(textures), "table_0", self._table.target, self._table.number)
        GL.glActiveTexture(GL.GL_TEXTURE0)
        _tell(program, look)
        GL.glUniform3f(_location(program, "seat"), *seat)

    def delete(self) -> None:
        """Give everything back to GL."""
        if self._table is not None:
            self._table.delete()
        GL.glDeleteVertexArrays(1, [self._corners])
        for program in self._programs.values():
            GL.glDeleteProgram(program)


def _seen(look: Look) -> tuple[int, int, int, int]:
    """Return left, top, right and bottom of where anything but the surround can be seen, in whole pixels."""
    (width, height), area = look.size, look.area
    if look.seam:
        return 0, 0, width, height
    left, top = max(0, math.floor(area.left)), max(0, math.floor(area.top))
    right, bottom = math.ceil(area.left + area.width), math.ceil(area.top + area.height)
    return left, top, min(width, right), min(height, bottom)


def _tell(program: int, look: Look) -> None:
    """Give a shader the numbers of a look."""
    area = look.area
    GL.glUniform1i(_location(program, "is_judged"), look.is_judged)
    GL.glUniform4f(_location(program, "area"), area.left, area.top, area.width, area.height)
    for index, lie in enumerate((look.lie, look.other or NOTHING)):
        GL.glUniform3f(_location(program, f"across[{index}]"), *lie.across)
        GL.glUniform3f(_location(program, f"down[{index}]"), *lie.down)
        GL.glUniform4f(_location(program, f"edges[{index}]"), *lie.edges)
        GL.glUniform4f(_location(program, f"window[{index}]"), *lie.window)
    GL.glUniform3f(_location(program, "edge"), *look.edge)
    GL.glUniform1f(_location(program, "seam"), look.seam)
    GL.glUniform1f(_location(program, "surround"), look.surround)
    GL.glUniform1f(_location(program, "line"), 0.75 * look.scale)
    GL.glUniform2f(_location(program, "limits"), *look.limits)


def _bind(program: int, unit: int, name: str, target: int, texture: int) -> None:
    GL.glActiveTexture(GL.GL_TEXTURE0 + unit)
    GL.glBindTexture(target, texture)
    GL.glUniform1i(_location(program, name), unit)


def _location(program: int, name: str) -> int:
    return int(GL.glGetUniformLocation(program, name))
