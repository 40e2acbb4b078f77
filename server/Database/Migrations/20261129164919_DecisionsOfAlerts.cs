using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class DecisionsOfAlerts : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_AlertEvents_SpotId_At",
                table: "AlertEvents");

            migrationBuilder.RenameColumn(
                name: "Text",
                table: "AlertEvents",
                newName: "Side");

            migrationBuilder.AddColumn<string>(
                name: "Side",
                table: "Notifications",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<long>(
                name: "LastGoodAt",
                table: "AlertEvents",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<double>(
                name: "LimitCelsius",
                table: "AlertEvents",
                type: "REAL",
                nullable: false,
                defaultValue: 0.0);

            migrationBuilder.AddColumn<long>(
                name: "ReachesAt",
                table: "AlertEvents",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<double>(
                name: "UpperCelsius",
                table: "AlertEvents",
                type: "REAL",
                nullable: true);

            // What a sentence says of its side and limit; the rest of what was decided it does not say.
            migrationBuilder.Sql("""
                UPDATE "AlertEvents" SET
                    "LimitCelsius" = COALESCE((SELECT "LimitCelsius" FROM "Spots" WHERE "Spots"."Id" = "AlertEvents"."SpotId"), 49),
                    "Side" = CASE WHEN "Side" LIKE '%cold limit%' OR "Side" LIKE '%freezing:%' OR "Side" LIKE '%too cold:%'
                        OR "Side" LIKE '% bitterly cold:%' OR "Side" LIKE '% is warming:%' THEN 'Cold' ELSE 'Heat' END;
                UPDATE "AlertEvents" SET "LimitCelsius" = 0 WHERE "Side" = 'Cold';
                UPDATE "Notifications" SET "Side" = (SELECT "Side" FROM "AlertEvents" WHERE "AlertEvents"."Id" = "Notifications"."EventId");
                """);

            migrationBuilder.CreateIndex(
                name: "IX_Notifications_SubscriptionId_Standing",
                table: "Notifications",
                columns: new[] { "SubscriptionId", "Standing" });

            migrationBuilder.CreateIndex(
                name: "IX_AlertEvents_SpotId_Side_Notified",
                table: "AlertEvents",
                columns: new[] { "SpotId", "Side", "Notified" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Notifications_SubscriptionId_Standing",
                table: "Notifications");

            migrationBuilder.DropIndex(
                name: "IX_AlertEvents_SpotId_Side_Notified",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "Side",
                table: "Notifications");

            migrationBuilder.DropColumn(
                name: "LastGoodAt",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "LimitCelsius",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "ReachesAt",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "UpperCelsius",
                table: "AlertEvents");

            migrationBuilder.RenameColumn(
                name: "Side",
                table: "AlertEvents",
                newName: "Text");

            migrationBuilder.CreateIndex(
                name: "IX_AlertEvents_SpotId_At",
                table: "AlertEvents",
                columns: new[] { "SpotId", "At" });
        }
    }
}
