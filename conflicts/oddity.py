"""What is asked before a reading is kept: one question, with its figures."""

from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256


@dataclass(frozen=True)
class Oddity:
    """One thing that is asked; whoever says that it reads so answers this question and no other."""

    code: StrEnum
    sentence: str

    @property
    def token(self) -> str:
        """What stands for exactly this question, its figures included."""
        return f"{self.code}:{sha256(self.sentence.encode()).hexdigest()[:16]}"

    @property
    def kept(self) -> dict[str, str]:
        """What is stored of it with a record, once it is confirmed."""
        return {"code": str(self.code), "sentence": self.sentence}
