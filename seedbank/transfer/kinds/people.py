"""Members with their addresses, taxa, and places in the store."""

from typing import Any

from crosses.actions.rules import refuse_broken_rules
from crosses.base.countries import COUNTRY_NAMES
from crosses.base.history import save_with_history
from crosses.calc.errors import BadInput
from crosses.models import DestinationFlag, Taxon
from seedbank.bank.actions.place import add_place, change_place
from seedbank.bank.facts import PLACE
from seedbank.bank.models import Place
from seedbank.formats.tables import Column, Shape
from seedbank.members.actions.member import save_address
from seedbank.members.actions.roles import Role, give_role
from seedbank.members.models import Address, Household, Member
from seedbank.transfer.cells import Cells
from seedbank.transfer.facts import columns_of, read_facts, said_facts
from seedbank.transfer.finding import facts_before, member_in, taxon_in
from seedbank.transfer.kind import NOTHING_NEW, BroughtBy, Group, Kind, Outcome, changed, made


def _member(rows: Group) -> Outcome:
    cells = rows[0]
    number, country = cells.needed("number"), cells.needed("country").upper()
    roles = cells.attempt(_roles, cells)
    cells.attempt(_refuse_no_country, country)
    cells.refuse_if_wrong()
    facts: dict[str, Any] = {
        "name": cells.needed("name"),
        "email": cells.needed("email"),
        "country": country,
        "donor_code": cells.text("donor_code") or None,
        "joined_on": cells.day("joined_on"),
        "language": cells.text("language", "en"),
        "household": _household(cells),
    }
    member = Member.objects.select_related("household").filter(number=number).first()
    is_new = member is None
    before: dict[str, Any] = {}
    if member is None:
        member = Member(number=number, **facts)
        member.set_unusable_password()
        _save(member, cells, "imported")
    else:
        said = cells.said(facts)
        before = facts_before(member, said)
        for name in before:
            setattr(member, name, said[name])
        if before:
            _save(member, cells, "imported again")
    before |= _write_address(member, cells, country)
    there = set(member.groups.values_list("name", flat=True))
    gained = [role for role in roles if role.label not in there]
    for role in gained:
        give_role(member=member, role=role)
    if is_new:
        return made(member)
    if gained:
        before["roles"] = sorted(there)
    return changed(member, before) if before else NOTHING_NEW


def _roles(cells: Cells) -> list[Role]:
    roles = cells.listed("roles")
    for role in roles:
        if role not in Role.values:
            raise BadInput(f"'{role}' is no role: {', '.join(Role.values)}.", field="roles")
    return [Role(role) for role in roles]


def _refuse_no_country(country: str) -> None:
    if country not in COUNTRY_NAMES:
        raise BadInput(
            f"'{country}' is no country; write its two letters, such as GB.", field="country"
        )


def _save(member: Member, cells: Cells, why: str) -> None:
    refuse_broken_rules(member)
    taken = Member.objects.filter(email__iexact=member.email).exclude(pk=member.pk)
    if taken.exists():
        raise BadInput("Another member has this e-mail address.", field="email")
    save_with_history(member, by=cells.importing.by, why=why)


def _household(cells: Cells) -> Household | None:
    name = cells.text("household")
    return Household.objects.get_or_create(name=name)[0] if name else None


def _write_address(member: Member, cells: Cells, country: str) -> dict[str, Any]:
    """Write the address a row tells, and return the one there was where it is another."""
    lines = "\n".join(cells.listed("address"))
    known = Address.objects.filter(member=member).first()
    if not lines or (known is not None and (known.lines, known.country) == (lines, country)):
        return {}
    save_address(member=member, by=cells.importing.by, lines=lines, country=country)
    return {"address": known.lines if known else ""}


MEMBERS = Kind(
    name="members",
    title="Members",
    columns=(
        Column(
            "number",
            ("member number",),
            required=True,
            help="A member of the same number is corrected, not added.",
        ),
        Column("name", required=True, help="Name, as on the parcel."),
        Column("email", ("e-mail", "mail"), required=True, help="With which they sign in."),
        Column("country", required=True, help="Two letters, such as GB; parcels go there."),
        Column("donor_code", ("donor code",), help="Stands in lists in place of the name."),
        Column("household", help="The same name for those who share one."),
        Column("joined_on", ("joined",), help="When they joined.", shape=Shape.DATE),
        Column("language", help="Two letters; empty: en."),
        Column(
            "roles",
            help=f"What more than a member they do: {', '.join(Role.values)}. None is taken away.",
            shape=Shape.SEVERAL,
        ),
        Column(
            "address",
            help="Lines of the postal address, without the country.",
            shape=Shape.SEVERAL,
        ),
    ),
    act=_member,
    # Whoever may write roles and e-mail addresses can make themselves anybody.
    brought_by=BroughtBy.ADMINISTRATOR,
    told_apart_by=("number",),
)

_TAXON_TEXTS = {
    "species": "Species epithet; empty: the whole genus.",
    "infraspecific_rank": "Of a lower taxon: subsp., var. or f.",
    "infraspecific_epithet": "Of a lower taxon, its epithet.",
    "authorship": "Who named it.",
    "common_name": "What it is called.",
    "ripe_source": "Where the days to ripe come from.",
    "hazard_note": "What to beware of: poisonous, irritates the skin.",
    "sowing_advice": "How its seed is sown.",
}
_RIPE = "Days from pollination until capsules ripen, "


def _taxon(rows: Group) -> Outcome:
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
    before = facts_before(taxon, cells.said(facts)) if taxon else {}
    if taxon is not None and not before:
        return NOTHING_NEW
    is_new = taxon is None
    taxon = taxon or Taxon(**named)
    for name, value in (facts if is_new else cells.said(facts)).items():
        setattr(taxon, name, value)
    refuse_broken_rules(taxon)
    save_with_history(taxon, by=cells.importing.by, why="imported")
    return made(taxon) if is_new else changed(taxon, before)


TAXA = Kind(
    name="taxa",
    title="Species and other taxa",
    columns=(
        Column("genus", required=True, help="The genus."),
        *(Column(name, help=words) for name, words in _TAXON_TEXTS.items()),
        Column("is_hybrid", help="A named hybrid; empty: no.", shape=Shape.YES_NO),
        Column("ploidy", help="Chromosome sets: 2, 4.", shape=Shape.WHOLE, minimum=1),
        Column("ripe_low_days", help=_RIPE + "first.", shape=Shape.WHOLE, minimum=1),
        Column("ripe_high_days", help=_RIPE + "last.", shape=Shape.WHOLE, minimum=1),
        Column(
            "storage_behaviour",
            help="How its seed keeps; empty: unknown.",
            shape=Shape.CHOICE,
            choices=tuple(Taxon.Storage.values),
        ),
    ),
    act=_taxon,
    told_apart_by=(
        "genus",
        "species",
        "infraspecific_rank",
        "infraspecific_epithet",
        "is_hybrid",
    ),
)


def _flag(rows: Group) -> Outcome:
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
        return NOTHING_NEW
    flag = DestinationFlag(
        **named,
        source=cells.needed("source"),
        checked_on=cells.needed_day("checked_on"),
        checked_by=cells.needed("checked_by"),
    )
    refuse_broken_rules(flag)
    save_with_history(flag, by=cells.importing.by, why="imported")
    return made(flag)


FLAGS = Kind(
    name="flags",
    title="What destinations ask",
    columns=(
        Column("genus", required=True, help="The genus it is about."),
        Column("taxon", help="A taxon of it; empty: the whole genus."),
        Column("country", help="Two letters; empty: everywhere."),
        Column(
            "kind",
            help="Empty: quarantine.",
            shape=Shape.CHOICE,
            choices=tuple(DestinationFlag.Kind.values),
        ),
        Column("words", required=True, help="What is asked, as the pages say it."),
        Column("source", required=True, help="Where that stands."),
        Column("checked_on", required=True, help="When that was looked up.", shape=Shape.DATE),
        Column("checked_by", required=True, help="By whom."),
    ),
    act=_flag,
)


def _place(rows: Group) -> Outcome:
    cells = rows[0]
    owner = member_in(cells, "owner") if cells.raw("owner") else None
    facts = read_facts(cells, PLACE)
    code = facts["code"]
    known = Place.objects.filter(owner=owner, code__iexact=code).first()
    if known is None:
        return made(add_place(by=cells.importing.by, owner=owner, **facts))
    # However its code is capitalised, it is that place.
    said = said_facts(cells, PLACE, facts) | {"code": known.code}
    before = facts_before(known, said)
    if not before:
        return NOTHING_NEW
    change_place(place=known, **said)
    return changed(known, before)


PLACES = Kind(
    name="places",
    title="Places in the store",
    columns=(
        *columns_of(PLACE),
        Column("owner", help="Member number of whose it is; empty: the bank's."),
    ),
    act=_place,
)
