from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect

from crosses.base.changing import acts_on, change_form
from crosses.base.clock import now, today
from crosses.base.pages import carry_out, show
from crosses.forms.fields import WithdrawForm
from seedbank.bank.access import caution_rule_for_writing, caution_rules, require_rule_maker
from seedbank.bank.actions.caution import add_rule, change_rule, withdraw_rule
from seedbank.bank.forms.caution import CautionRuleChangeForm, CautionRuleForm
from seedbank.bank.queries import caution_history, cautions_listed
from seedbank.calc.cautions import STANDING_LINE
from seedbank.members.http import MemberRequest


def listing(request: MemberRequest) -> HttpResponse:
    """Every rule with its source and date; members may read what their seed is held to."""
    context = {
        "rules": cautions_listed(caution_rules()),
        "standing_line": STANDING_LINE,
        "may_change": request.user.is_keeper or request.user.is_staff,
    }
    return show(request, "bank/caution/list.html", context)


def add(request: MemberRequest) -> HttpResponse:
    require_rule_maker(request.user)
    initial = {"checked_on": today(), "checked_by": request.user.name}
    form = CautionRuleForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        rule = carry_out(form, lambda: add_rule(by=request.user, **form.facts()))
        if rule is not None:
            messages.success(request, f"The rule “{rule}” is in the list.")
            return redirect("caution-list")
    return show(request, "bank/caution/form.html", {"form": form})


def change(request: MemberRequest, key: int) -> HttpResponse:
    rule = caution_rule_for_writing(request.user, key)
    form = change_form(request, rule, lambda sent, rule: CautionRuleChangeForm(sent, instance=rule))
    if request.method == "POST" and form.is_valid():
        changed = carry_out(
            form,
            lambda: change_rule(
                changed=rule, by=request.user, why=form.cleaned_data["why"], **form.facts()
            ),
        )
        if changed is not None:
            messages.success(request, f"The rule “{rule}” is changed.")
            return redirect("caution-list")
    context = {"form": form, "rule": rule, "history": caution_history(rule)}
    return show(request, "bank/caution/form.html", context)


def withdraw(request: MemberRequest, key: int) -> HttpResponse:
    rule = caution_rule_for_writing(request.user, key)
    form = acts_on(rule, WithdrawForm(request.POST or None))
    if request.method == "POST" and form.is_valid():
        done = carry_out(
            form,
            lambda: withdraw_rule(rule=rule, by=request.user, at=now(), **form.cleaned_data),
        )
        if done is not None:
            messages.success(request, f"The rule “{rule}” no longer applies.")
            return redirect("caution-list")
    return show(request, "bank/caution/withdraw.html", {"form": form, "rule": rule})
