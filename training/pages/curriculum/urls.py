from django.urls import path

from training.pages.curriculum import compare, edition, hub, own, publish, rules, standard, step

ONE = "programmes/<uuid:programme>/"
SKILL = f"{ONE}skills/<str:skill>/"
RULES = f"{ONE}sets/"

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
]
