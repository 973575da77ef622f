"""The addresses of the ground floor."""

from django.urls import path

from accounts.views import (
    attention,
    branches,
    customers,
    invitation,
    licenses,
    people,
    register,
    respirators,
)

urlpatterns = [
    path("attention/", attention.index, name="attention"),
    path("attention/<int:pk>/close/", attention.close, name="attention_close"),
    path("people/", people.index, name="people"),
    path("people/invite/", people.invite, name="person_invite"),
    path("people/<int:pk>/", people.show, name="person"),
    path("people/<int:pk>/edit/", people.edit, name="person_edit"),
    path("people/<int:pk>/roles/", people.roles, name="person_roles"),
    path("people/<int:pk>/invite-again/", people.again, name="person_invite_again"),
    path("people/<int:pk>/let-go/", people.deactivate, name="person_deactivate"),
    path("people/<int:pk>/bring-back/", people.reactivate, name="person_reactivate"),
    path("people/<int:pk>/licenses/add/", licenses.add, name="license_add"),
    path("people/<int:pk>/respirator/", respirators.add, name="respirator_add"),
    path("respirators/<int:pk>/correct/", respirators.correct, name="respirator_correct"),
    path("respirators/<int:pk>/end/", respirators.end, name="respirator_end"),
    path("people/<int:pk>/papers/<slug:table>/", register.add, name="paper_add"),
    path("register/<slug:table>/<int:pk>/correct/", register.correct, name="paper_correct"),
    path("register/<slug:table>/<int:pk>/void/", register.void, name="paper_void"),
    path("firm-papers/", register.firm, name="firm_papers"),
    path("firm-papers/add/", register.firm_add, name="firm_paper_add"),
    path("firm-papers/<int:pk>/renew/", register.firm_renew, name="firm_paper_renew"),
    path("licenses/<int:pk>/edit/", licenses.edit, name="license_edit"),
    path("invitation/<str:uid>/<str:token>/", invitation.accept, name="invitation"),
    path("branches/", branches.index, name="branches"),
    path("branches/add/", branches.add, name="branch_add"),
    path("branches/<int:pk>/edit/", branches.edit, name="branch_edit"),
    path("customers/add/", customers.add, name="customer_add"),
    path("customers/<int:pk>/edit/", customers.edit, name="customer_edit"),
    path("customers/<int:pk>/contacts/add/", customers.contact_add, name="contact_add"),
    path("contacts/<int:pk>/edit/", customers.contact_edit, name="contact_edit"),
]
