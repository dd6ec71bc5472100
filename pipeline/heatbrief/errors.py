"""Problems a person can act on: where, what is wrong, what to do. One class is caught in one place, the command line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum


class ExitCode(IntEnum):
    """What the `heatbrief` command tells the program that called it."""

    DONE = 0
    FINDING_REACHED_LEVEL = 1
    USER_ERROR = 2
    PARTLY_FAILED = 3


@dataclass(frozen=True, order=True)
class Problem:
    """One thing that is wrong.

    where    file, or file:line:column, or the name of a property or thermogram
    code     stable slug, explained in full by `heatbrief explain CODE`
    message  what is wrong
    remedy   what to do about it
    """

    where: str
    code: str
    message: str
    remedy: str = ""

    def __str__(self) -> str:
        text = (
            f"error[{self.code}]: {self.where}: {self.message}" if self.where else f"error[{self.code}]: {self.message}"
        )
        return f"{text}\n  {self.remedy}" if self.remedy else text


class HeatbriefError(Exception):
    """Base of all errors raised on purpose."""


class UserError(HeatbriefError):
    """The input cannot be used as it is. Carries every problem found, not only the first."""

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = (problems,) if isinstance(problems, Problem) else tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[UserError], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)

    @classmethod
    def single(cls, code: str, where: object, message: str, remedy: str = "") -> UserError:
        """The common case of one problem."""
        return cls(Problem(where=str(where), code=code, message=message, remedy=remedy))


class StepError(HeatbriefError):
    """A step cannot work on this subject; the rest of the survey goes on and the reason is listed.

    Raised by steps for expected cases (an unreadable picture, a region outside the picture).
    """

    def __init__(self, code: str, message: str, remedy: str = "") -> None:
        self.code, self.message, self.remedy = code, message, remedy
        super().__init__(message)

    def __reduce__(self) -> tuple[type[StepError], tuple[str, str, str]]:
        return type(self), (self.code, self.message, self.remedy)
