ALTER TABLE holds DROP COLUMN notice_id;
DROP TABLE notice_clearances, notice_names, notice_criteria, notice_proposals, notices;
DROP INDEX products_by_folded_model;
DROP FUNCTION folded_model(text);
