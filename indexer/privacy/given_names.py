"""Common given names of many languages, none of them a particular person's; those that are ordinary words stand apart."""

from __future__ import annotations

from indexer.privacy.text import word_set

GIVEN = word_set(
    """
    aaron abdul abigail adam adrian agnes ahmed aisha alan albert alejandro alex alexander alexandra ali alice alison
    alistair amanda amelia amina amir amit amy ana anders andrea andreas andrew angela anita anjali anna anne annette
    anthony antonio arthur barbara beatrice ben benjamin bernard beth betty brenda brian bridget bruce caroline carlos
    carmen catherine charles charlotte chen chloe christian christina christine christopher claire clara claudia colin
    craig cynthia daniel daniela david deborah denise dennis diana diego dmitri dominic donald doris dorothy douglas
    edith edward eleanor elena elias elizabeth ella ellen emily emma enrique eric erik ernest esther ethan eva evelyn
    fatima felix fernando fiona florence francesca francis francisco frederick gabriel gareth gary geoffrey george
    gerald gerard gertrude giovanni gloria gordon graham gregory greta hannah hans harold harriet harry hassan heather
    heinrich helen helena helga henry herbert howard hugh ian ibrahim ingrid irene isaac isabel isabella ivan jacob
    jacqueline jakob james jamal jane janet janice jason javier jean jeffrey jennifer jeremy jessica joan joanna johan
    johannes john jonas jonathan jorge jose joseph josephine joshua juan judith julia julian julie karen karl katherine
    kathleen katrin keith kenneth kevin khalid klaus kumar laura lars lena leonard leslie liam linda lisa lorenzo louis
    louise lucas lucia lucy luis luke lydia magdalena malcolm manuel marcus margaret maria mariam marianne marie marina
    mario marion marjorie marta martha martin mary matthew maureen max michael michelle miguel mohammed monica mustafa
    nadia nancy natalie natasha nathan neil nicholas nicola nigel nina nora norman olga oliver olivia omar oscar pablo
    pamela patricia patrick paul paula pauline pedro peter philip phyllis priya rachel rahul ralph ramesh rebecca
    richard roberta robert roger ronald rosemary ruth samantha samuel sandra sanjay sara sarah sebastian sergei sharon
    sheila shirley simon sofia sophia sophie stefan stella stephanie stephen steven stuart susan susanne sven sylvia
    teresa theresa thomas timothy tobias tom tomas trevor ursula valerie vanessa vera veronica victoria vincent violeta
    virginia vladimir walter wendy werner wilhelm william wolfgang yasmin yolanda yusuf yvonne zoe
    """
)
"""Heard in any place, these are somebody's name."""

ALSO_WORDS = word_set(
    """
    mark will may grace rose iris bill sue pat rob art drew jack hope faith joy frank dawn april june august amber ivy
    lily daisy holly hazel olive pearl ruby jade gene grant chase dean miles penny peg ray rich robin sandy stone summer
    victor wade ward nick norm herb guy earl cliff clay chip chuck carol bob barry basil angel ann tony jim joe sam dan
    don ken ron tim ted leo lee kim jo ed al
    """
)
"""Names only where the words around say so."""

EPONYMS = word_set(
    """
    descemet descemets tenon tenons fuchs marfan marfans zinn schlemm schlemms schwalbe schwalbes bowman bowmans bruch
    bruchs wieger wiegers berger bergers cloquet elschnig elschnigs soemmering soemmerings sommering krukenberg
    krukenbergs morgagni morgagnian weill marchesani ehlers danlos stickler sjogren behcet graves horner snellen
    goldmann scheimpflug placido purkinje jaeger seidel seidels trendelenburg schirmer alport parkinson parkinsons
    alzheimers down downs kelman sinskey utrata mcpherson bonn lieberman simcoe barraquer weck westcott vannas
    castroviejo lester kuglen drysdale nagahara akahoshi chang cionni ahmed malyugin hoffman siepser yamane irvine gass
    haab haabs koeppe busacca descement tennon german english latin french greek
    """
)
"""Names that the trade gave to structures, diseases and tools; common practice, from memory, no source."""

LARGE_PLACES = word_set(
    """
    alabama alaska arizona arkansas california colorado connecticut delaware florida georgia hawaii idaho illinois
    indiana iowa kansas kentucky louisiana maine maryland massachusetts michigan minnesota mississippi missouri montana
    nebraska nevada ohio oklahoma oregon pennsylvania tennessee texas utah vermont virginia washington wisconsin wyoming
    america england scotland wales ireland britain germany france spain italy austria switzerland poland india china
    japan canada mexico brazil australia africa europe asia russia turkey egypt nigeria kenya norway sweden denmark
    finland portugal greece netherlands belgium
    """
)
"""States and countries: no identifier by class (B), which begins below the state."""
