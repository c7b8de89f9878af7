from django.urls import path

from training.curriculum import drafting
from training.pages.curriculum import checks, compare, edition, facts, hub, own, publish, rules, standard, step

ONE = "programmes/<uuid:programme>/"
SKILL = f"{ONE}skills/<str:skill>/"
RULES = f"{ONE}sets/"
FACTS = f"{ONE}facts/"

urlpatterns = [
    path("programmes/new/", own.EmptyProgramme.as_view(), name="programme-new"),
    path(ONE, hub.Hub.as_view(), name="writing"),
    path(f"{ONE}copy/", own.CopyProgramme.as_view(), name="programme-copy"),
    path(f"{ONE}publish/", publish.Publish.as_view(), name="publish"),
    path(f"{ONE}new-skill/", hub.NewSkill.as_view(), name="skill-new"),
    path(f"{SKILL}begin/", hub.Begin.as_view(), name="edition-begin"),
    path(f"{SKILL}editions/", compare.Editions.as_view(), name="editions"),
    path(f"{SKILL}compare/", compare.Compare.as_view(), name="compare"),
    path(f"{SKILL}draft/", edition.EditionDraft.as_view(), name="edition-draft"),
    path(f"{SKILL}draft/words/", edition.EditWords.as_view(), name="edition-words"),
    path(f"{SKILL}draft/when/", edition.EditWhen.as_view(), name="edition-when"),
    path(f"{SKILL}draft/standard/", standard.EditStandard.as_view(), name="edition-standard"),
    path(f"{SKILL}draft/move/", edition.MoveStep.as_view(), name="step-move"),
    path(f"{SKILL}draft/steps/", step.AddStep.as_view(), name="step-new"),
    path(f"{SKILL}draft/steps/<str:step>/", step.EditStep.as_view(), name="step-edit"),
    path(f"{SKILL}draft/throw-away/", hub.ThrowAway.as_view(), name="edition-throw-away"),
    path(f"{SKILL}draft/follow/", hub.Follow.as_view(), name="edition-follow"),
    path(f"{RULES}draft/follow/", hub.Follow.as_view(), name="rules-follow"),
    path(f"{RULES}begin/", hub.BeginRules.as_view(), name="rules-begin"),
    path(f"{RULES}draft/", rules.RulesDraft.as_view(), name="rules-draft"),
    path(f"{RULES}draft/throw-away/", hub.ThrowAway.as_view(), name="rules-throw-away"),
    path(f"{RULES}draft/sets/", rules.EditSet.as_view(), name="set-new"),
    path(f"{RULES}draft/sets/<str:code>/", rules.EditSet.as_view(), name="set-edit"),
    path(f"{RULES}draft/team/", rules.EditWay.as_view(), name="way-new"),
    path(f"{RULES}draft/team/<int:place>/", rules.EditWay.as_view(), name="way-edit"),
    path(f"{RULES}draft/items/", rules.EditItem.as_view(), name="rule-item-new"),
    path(f"{RULES}draft/items/<str:code>/", rules.EditItem.as_view(), name="rule-item-edit"),
    path(f"{FACTS}begin/", hub.BeginFacts.as_view(), name="facts-begin"),
    path(f"{FACTS}draft/", facts.FactsDraft.as_view(), name="facts-draft"),
    path(f"{FACTS}draft/follow/", hub.Follow.as_view(part=drafting.FACTS), name="facts-follow"),
    path(f"{FACTS}draft/throw-away/", hub.ThrowAway.as_view(part=drafting.FACTS), name="facts-throw-away"),
    path(f"{FACTS}draft/notice/", facts.EditNotice.as_view(), name="notice-edit"),
    path(f"{FACTS}draft/facts/", facts.EditFact.as_view(), name="fact-new"),
    path(f"{FACTS}draft/facts/<str:code>/", facts.EditFact.as_view(), name="fact-edit"),
    path(f"{FACTS}draft/checks/tube/", checks.EditTube.as_view(), name="check-tube"),
    path(f"{FACTS}draft/checks/catheter/", checks.EditCatheter.as_view(), name="check-catheter"),
    path(f"{FACTS}draft/checks/spares/", checks.EditSpares.as_view(), name="check-spares"),
    path(f"{FACTS}draft/checks/ranges/", checks.EditRange.as_view(), name="range-new"),
    path(f"{FACTS}draft/checks/ranges/<str:code>/", checks.EditRange.as_view(), name="range-edit"),
]
