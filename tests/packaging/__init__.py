"""What is built, installed alone; and a small model that every release must score as before."""

from pathlib import Path

GOLDEN = Path(__file__).parent / "golden" / "kyphosis.riskmodel.json"
