DROP TABLE mix_doses, mix_ingredients, mixes;
