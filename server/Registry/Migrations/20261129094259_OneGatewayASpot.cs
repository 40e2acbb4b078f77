using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Registry.Migrations
{
    /// <inheritdoc />
    public partial class OneGatewayASpot : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_GatewaySpots_SpotId",
                table: "GatewaySpots");

            migrationBuilder.CreateTable(
                name: "FormerGatewaySpots",
                columns: table => new
                {
                    GatewayId = table.Column<string>(type: "TEXT", nullable: false),
                    SpotId = table.Column<string>(type: "TEXT", nullable: false),
                    Until = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_FormerGatewaySpots", x => new { x.GatewayId, x.SpotId });
                    table.ForeignKey(
                        name: "FK_FormerGatewaySpots_Gateways_GatewayId",
                        column: x => x.GatewayId,
                        principalTable: "Gateways",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_FormerGatewaySpots_Spots_SpotId",
                        column: x => x.SpotId,
                        principalTable: "Spots",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            // Of gateways that had one spot together, the one it was given to last keeps it; the others may bring what they measured.
            migrationBuilder.Sql(
                """
                INSERT INTO FormerGatewaySpots (GatewayId, SpotId, Until)
                SELECT GatewayId, SpotId, unixepoch('now') * 1000 FROM GatewaySpots AS given
                WHERE EXISTS (SELECT 1 FROM GatewaySpots AS later WHERE later.SpotId = given.SpotId AND later.rowid > given.rowid);
                DELETE FROM GatewaySpots
                WHERE EXISTS (SELECT 1 FROM FormerGatewaySpots AS former WHERE former.GatewayId = GatewaySpots.GatewayId AND former.SpotId = GatewaySpots.SpotId);
                """);

            migrationBuilder.CreateIndex(
                name: "IX_GatewaySpots_SpotId",
                table: "GatewaySpots",
                column: "SpotId",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_FormerGatewaySpots_SpotId",
                table: "FormerGatewaySpots",
                column: "SpotId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "FormerGatewaySpots");

            migrationBuilder.DropIndex(
                name: "IX_GatewaySpots_SpotId",
                table: "GatewaySpots");

            migrationBuilder.CreateIndex(
                name: "IX_GatewaySpots_SpotId",
                table: "GatewaySpots",
                column: "SpotId");
        }
    }
}
