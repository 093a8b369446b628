"""What an import costs: the runtime never loads a fitting library, and its top loads nothing at all."""

import ast

from tests.architecture.project import ROOT, python

FITTING = ("sklearn", "pandas", "scipy", "matplotlib", "shap", "joblib", "statsmodels", "openpyxl", "pyarrow", "tqdm")
OWN = ("training", "synthetic_cohort")

IMPORT_ALL = """
import pkgutil, sys
import riskmodel
for module in pkgutil.walk_packages(riskmodel.__path__, "riskmodel."):
    if not module.name.endswith("__main__"):
        __import__(module.name)
print(*sorted({name.partition(".")[0] for name in sys.modules}))
"""


def _loaded(program: str) -> set[str]:
    return set(python("-c", program).split())


def test_the_top_of_the_package_loads_no_part_of_it() -> None:
    loaded = _loaded("import sys, riskmodel; print(*sys.modules)")
    assert "riskmodel" in loaded
    assert [name for name in loaded if name.startswith("riskmodel.")] == []
    assert "numpy" not in loaded


def test_the_dictionary_loads_without_numpy() -> None:
    """So the generator of invented cohorts, which shares it, shares no arithmetic."""
    loaded = _loaded("import sys, riskmodel.dictionary.model; print(*sys.modules)")
    assert "riskmodel.dictionary.model" in loaded
    assert "numpy" not in loaded


def test_no_module_of_the_runtime_loads_a_fitting_library_or_the_pipeline() -> None:
    loaded = _loaded(IMPORT_ALL)
    assert "numpy" in loaded
    assert loaded.isdisjoint({*FITTING, *OWN})


def _imported(source: str) -> set[str]:
    """Every module that a source text imports from; `from a import b` counts as a.b where b may be a module."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{name.name}" for name in node.names}
    return found


def test_the_generator_shares_names_with_the_runtime_and_nothing_that_computes() -> None:
    """The truth is never made by the code that it is to test."""
    allowed = ("riskmodel.dictionary.", "riskmodel.errors.")
    taken = {
        module
        for path in (ROOT / "synthetic_cohort").rglob("*.py")
        for module in _imported(path.read_text(encoding="utf-8"))
        if module.partition(".")[0] in ("riskmodel", "training")
    }
    assert [module for module in sorted(taken) if not f"{module}.".startswith(allowed)] == []
