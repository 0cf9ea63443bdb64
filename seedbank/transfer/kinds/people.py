"""Members with their addresses, taxa, and places in the store."""

from collections.abc import Sequence

from crosses.actions.rules import refuse_broken_rules
from crosses.base.countries import COUNTRY_NAMES
from crosses.base.history import save_with_history
from crosses.calc.errors import BadInput
from crosses.models import DestinationFlag, Taxon
from seedbank.bank.actions.place import add_place
from seedbank.bank.models import Place
from seedbank.formats.tables import Column
from seedbank.members.actions.member import save_address
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Household, Member
from seedbank.transfer.cells import Cells
from seedbank.transfer.finding import changed_facts, member_in, taxon_in
from seedbank.transfer.importing import CHANGED, NEW, SAME, BroughtBy, Kind


def _member(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    number, country = cells.needed("number"), cells.needed("country").upper()
    if country not in COUNTRY_NAMES:
        raise BadInput(
            f"'{country}' is no country; write its two letters, such as GB.", field="country"
        )
    facts = {
        "name": cells.needed("name"),
        "email": cells.needed("email"),
        "country": country,
        "donor_code": cells.text("donor_code") or None,
        "joined_on": cells.day("joined_on"),
        "language": cells.text("language", "en"),
        "household": _household(cells),
    }
    member = Member.objects.filter(number=number).first()
    if member is None:
        member = Member(number=number, **facts)
        member.set_unusable_password()
        _save(member, cells, "imported")
        verdict = NEW
    elif changed := changed_facts(member, facts):
        for name, value in changed.items():
            setattr(member, name, value)
        _save(member, cells, "imported again")
        verdict = CHANGED
    else:
        verdict = SAME
    _write_address(member, cells, country)
    for role in cells.listed("roles"):
        if role not in Role.values:
            raise BadInput(f"'{role}' is no role: {', '.join(Role.values)}.", field="roles")
        give_role(member=member, role=Role(role))
    return verdict


def _save(member: Member, cells: Cells, why: str) -> None:
    refuse_broken_rules(member)
    taken = Member.objects.filter(email__iexact=member.email).exclude(pk=member.pk)
    if taken.exists():
        raise BadInput("Another member has this e-mail address.", field="email")
    save_with_history(member, by=cells.importing.by, why=why)


def _household(cells: Cells) -> Household | None:
    name = cells.text("household")
    return Household.objects.get_or_create(name=name)[0] if name else None


def _write_address(member: Member, cells: Cells, country: str) -> None:
    lines = "\n".join(cells.listed("address"))
    known = getattr(member, "address", None)
    if lines and (known is None or known.lines != lines):
        save_address(member=member, by=cells.importing.by, lines=lines, country=country)


MEMBERS = Kind(
    name="members",
    title="Members",
    columns=(
        Column("number", ("member number",), required=True),
        Column("name", required=True),
        Column("email", ("e-mail", "mail"), required=True),
        Column("country", required=True),
        Column("donor_code", ("donor code",)),
        Column("household"),
        Column("joined_on", ("joined",)),
        Column("language"),
        Column("roles"),
        Column("address"),
    ),
    act=_member,
    # Whoever may write roles and e-mail addresses can make themselves anybody.
    brought_by=BroughtBy.ADMINISTRATOR,
    told_apart_by=("number",),
)

_TAXON_TEXTS = (
    "species",
    "infraspecific_rank",
    "infraspecific_epithet",
    "authorship",
    "common_name",
    "ripe_source",
    "hazard_note",
    "sowing_advice",
)


def _taxon(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    named = {
        "genus": cells.needed("genus"),
        "species": cells.text("species"),
        "infraspecific_rank": cells.text("infraspecific_rank"),
        "infraspecific_epithet": cells.text("infraspecific_epithet"),
        "is_hybrid": cells.yes_no("is_hybrid"),
    }
    facts = {name: cells.text(name) for name in _TAXON_TEXTS if name not in named} | {
        "ploidy": cells.whole("ploidy", minimum=1),
        "ripe_low_days": cells.whole("ripe_low_days", minimum=1),
        "ripe_high_days": cells.whole("ripe_high_days", minimum=1),
        "storage_behaviour": cells.choice(
            "storage_behaviour", Taxon.Storage.values, Taxon.Storage.UNKNOWN
        ),
    }
    taxon = Taxon.objects.filter(**named).first()
    verdict = NEW if taxon is None else CHANGED
    taxon = taxon or Taxon(**named)
    changed = changed_facts(taxon, facts)
    if not changed and verdict == CHANGED:
        return SAME
    for name, value in changed.items():
        setattr(taxon, name, value)
    refuse_broken_rules(taxon)
    save_with_history(taxon, by=cells.importing.by, why="imported")
    return verdict


TAXA = Kind(
    name="taxa",
    title="Species and other taxa",
    columns=(
        Column("genus", required=True),
        *(Column(name) for name in _TAXON_TEXTS),
        Column("is_hybrid"),
        Column("ploidy"),
        Column("ripe_low_days"),
        Column("ripe_high_days"),
        Column("storage_behaviour"),
    ),
    act=_taxon,
)


def _flag(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    country = cells.text("country").upper()
    if country and country not in COUNTRY_NAMES:
        raise BadInput(f"'{country}' is no country; write its two letters.", field="country")
    named = {
        "genus": cells.needed("genus"),
        "taxon": taxon_in(cells, "taxon"),
        "country": country,
        "kind": cells.choice("kind", DestinationFlag.Kind.values, DestinationFlag.Kind.QUARANTINE),
        "words": cells.needed("words"),
    }
    if DestinationFlag.objects.filter(**named).exists():
        return SAME
    flag = DestinationFlag(
        **named,
        source=cells.needed("source"),
        checked_on=cells.needed_day("checked_on"),
        checked_by=cells.needed("checked_by"),
    )
    refuse_broken_rules(flag)
    save_with_history(flag, by=cells.importing.by, why="imported")
    return NEW


FLAGS = Kind(
    name="flags",
    title="What destinations ask",
    columns=(
        Column("genus", required=True),
        Column("taxon"),
        Column("country"),
        Column("kind"),
        Column("words", required=True),
        Column("source", required=True),
        Column("checked_on", required=True),
        Column("checked_by", required=True),
    ),
    act=_flag,
)


def _place(rows: Sequence[Cells]) -> str:
    cells = rows[0]
    owner = member_in(cells, "owner") if cells.raw("owner") else None
    code = cells.needed("code")
    if Place.objects.filter(owner=owner, code__iexact=code).exists():
        return SAME
    add_place(
        code=code,
        by=cells.importing.by,
        owner=owner,
        name=cells.text("name"),
        walk_order=cells.whole("walk_order", default=0) or 0,
        temperature_celsius=cells.decimal("temperature_celsius"),
    )
    return NEW


PLACES = Kind(
    name="places",
    title="Places in the store",
    columns=(
        Column("code", required=True),
        Column("name"),
        Column("owner"),
        Column("walk_order"),
        Column("temperature_celsius"),
    ),
    act=_place,
)
