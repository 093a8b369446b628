"""What an import costs: the runtime never loads a fitting library, and its top loads nothing at all."""

from tests.architecture.project import python

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
