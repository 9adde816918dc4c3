"""A CLF file as a whole: its root, its versions, its nodes in a row. CLF specification v3.0 unless named."""

import numpy as np
import pytest

from lamphouse.nodes.errors import BadInput
from lamphouse.nodes.luts.clf.file import read_clf

SMPTE = 'xmlns="http://www.smpte-ra.org/ns/2136-1/2024"'
DEPTHS = 'inBitDepth="32f" outBitDepth="32f"'
HALVE = f'<Matrix {DEPTHS}><Array dim="3 3">.5 0 0 0 5e-1 0 0 0 0.5</Array></Matrix>'
NODE = f"<Range {DEPTHS}><minInValue>0</minInValue><minOutValue>0</minOutValue></Range>"

# CLF Implementation Guide, example 2: it prints the input and the result.
GUIDE_2 = f"""
<Matrix {DEPTHS}><Array dim="3 4">
    1 0 0 -0.0625
    0 1 0 -0.5
    0 0 1 -0.5
</Array></Matrix>
<Matrix {DEPTHS}><Array dim="3 3">
    1.16893193493151 0 1.79974396623884
    1.16893193493151 -0.214081616673236 -0.534991005624129
    1.16893193493151 2.12065335518973 0
</Array></Matrix>
"""


def test_two_matrices_give_what_the_guide_prints(clf, through):
    result = through(clf(GUIDE_2), (0.5, 0.4, 0.3))
    np.testing.assert_allclose(result, [(0.1514589, 0.6398141, 0.2993424)], atol=5e-8)


def test_a_lut_computes_and_traces_alike(clf, evaluate):
    from lamphouse.nodes.trace import picture

    lut = clf(GUIDE_2 + NODE)
    rgb = np.random.default_rng(3).uniform(-1, 2, (3, 50))
    np.testing.assert_array_equal(evaluate(lut(picture("it")), {}, {"it": rgb}), lut(rgb))


@pytest.mark.parametrize(
    "root",
    [
        'id="a" compCLFversion="3.0"',
        'id="a" compCLFversion="3"',
        'id="a" compCLFversion="2.0"',
        'id="a" compCLFversion="3.0" xmlns="urn:AMPAS:CLF:v3.0"',
        f'id="a" compCLFversion="ST2136-1:2024" {SMPTE}',
        f'id="a" compCLFversion="3" {SMPTE}',
    ],
)
def test_every_version_and_namespace_up_to_this_one_is_read(clf, through, root):
    np.testing.assert_allclose(through(clf(HALVE, root), (0.2, 0.4, -1)), [(0.1, 0.2, -0.5)], atol=1e-15)


def test_an_id_may_be_an_element_as_smpte_files_have_it(clf, through):
    # As in the sample files of colour-clf-io; SMPTE ST 2136-1 itself was not seen.
    nodes = f"<Id>urn:uuid:5ac02dc7-1e02-4f87-af46-fa5a83d5232d</Id>{HALVE}"
    assert through(clf(nodes, f'compCLFversion="3" {SMPTE}'), (1, 1, 1))[0, 0] == 0.5


def test_names_and_descriptions_are_the_title(clf):
    text = "<Description>of the <!-- not this --> old kind</Description>"
    assert clf(text + HALVE, 'id="a" compCLFversion="3" name="Warm"').title == "Warm of the  old kind"


def test_what_is_not_known_and_no_process_node_is_passed_over(clf, through):
    nodes = f"""
    <Info><AppRelease>1</AppRelease><Maker xmlns="urn:other">us</Maker></Info>
    <InputDescriptor>any</InputDescriptor> <OutputDescriptor>any</OutputDescriptor>
    <Colophon>set by hand</Colophon>
    {HALVE.replace("<Array", "<Description>half</Description><Note/><Array")}
    """
    assert through(clf(nodes), (1, 1, 1)).tolist() == [[0.5, 0.5, 0.5]]


REFUSED = {
    "no such node": ('<Gamma id="g1" inBitDepth="32f" outBitDepth="32f"/>', "line 3, Gamma 'g1': no such"),
    "near a node": (NODE.replace("Range", "Rang"), "did you mean Range"),
    "no nodes": ("<Description>empty</Description>", "line 2: it has no process nodes"),
    "no depth": ("<Matrix><Array dim='3 3'>1 0 0 0 1 0 0 0 1</Array></Matrix>", "inBitDepth is missing"),
    "no such depth": (HALVE.replace("32f", "14i"), "inBitDepth = 14i is not known"),
    "depths that do not meet": (
        HALVE + "\n" + HALVE.replace('inBitDepth="32f"', 'inBitDepth="10i"'),
        "line 4, Matrix: its inBitDepth 10i is not the outBitDepth 32f",
    ),
    "an index map": (
        f'<LUT1D {DEPTHS}>\n<IndexMap dim="2">0 1</IndexMap><Array dim="2 1">0 1</Array></LUT1D>',
        "line 4, IndexMap: version 3.0 has no IndexMap",
    ),
    "two arrays": (HALVE.replace("</Matrix>", '<Array dim="3 3"/></Matrix>'), "Array stands a second time"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_fault_in_a_node_is_one_sentence_with_file_line_and_node(clf, case):
    nodes, words = REFUSED[case]
    with pytest.raises(BadInput) as refused:
        clf(nodes)
    said = str(refused.value)
    assert said.startswith("a.clf, line ")
    assert words in said
    assert said.endswith(".")
    assert "\n" not in said


ROOTS = {
    "a newer namespace": ('id="a" compCLFversion="3" xmlns="http://www.smpte-ra.org/ns/2136-1/2025"', "2025"),
    "a newer version": ('id="a" compCLFversion="3.1"', "CLF version 3.1 is not read here"),
    "a newer year": ('id="a" compCLFversion="ST2136-1:2025"', "ST2136-1:2025"),
    "no version": ('id="a"', "no compCLFversion"),
    "no id": ('compCLFversion="3.0"', "no id"),
}


@pytest.mark.parametrize("case", ROOTS)
def test_a_root_that_cannot_be_trusted_is_refused(clf, case):
    root, words = ROOTS[case]
    with pytest.raises(BadInput, match=r"^a\.clf, line 2: ") as refused:
        clf(HALVE, root)
    assert words in str(refused.value)


def test_another_kind_of_xml_is_refused():
    with pytest.raises(BadInput, match="begins with ProcessList, not html; give a CLF file"):
        read_clf(b"<html/>", "a.clf")


def test_a_file_that_is_cut_off_is_refused_with_its_last_line(clf_text):
    whole = clf_text(HALVE).encode()
    for length in range(len(whole) - len(b"</ProcessList>\n")):
        with pytest.raises(BadInput, match=r"^a\.clf, line \d+: it is not XML \("):
            read_clf(whole[:length], "a.clf")


def test_a_document_type_is_refused_before_its_entities_can_grow(clf_text):
    bomb = '<!DOCTYPE lolz [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>\n<ProcessList'
    text = clf_text("<Description>&b;</Description>" + HALVE).replace("<ProcessList", bomb)
    with pytest.raises(BadInput, match=r"^a\.clf, line 2: a document type is not read here"):
        read_clf(text.encode(), "a.clf")


def test_an_encoding_that_nothing_here_reads_is_refused(clf_text):
    for name in ("nowhere-7", "shift_jis"):
        with pytest.raises(BadInput, match=r"a\.clf, line 1: it cannot be read as XML"):
            read_clf(clf_text(HALVE).replace("UTF-8", name).encode(), "a.clf")
