DROP TABLE estate.bags, estate.drills, estate.forecast_scores, estate.forecast_books;
