using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Registry.Migrations
{
    /// <inheritdoc />
    public partial class SpotChecksAndDecisions : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.RenameColumn(
                name: "SurfaceCelsius",
                table: "SpotChecks",
                newName: "ShownCelsius");

            migrationBuilder.AddColumn<double>(
                name: "EmissivityFraction",
                table: "SpotChecks",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "EnteredAt",
                table: "SpotChecks",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<string>(
                name: "Ground",
                table: "SpotChecks",
                type: "TEXT",
                nullable: false,
                defaultValue: "Unknown");

            migrationBuilder.CreateTable(
                name: "AgreementThresholds",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    LeastPairs = table.Column<int>(type: "INTEGER", nullable: false),
                    MostBiasKelvin = table.Column<double>(type: "REAL", nullable: false),
                    MostDifferenceKelvin = table.Column<double>(type: "REAL", nullable: false),
                    LeastSpanKelvin = table.Column<double>(type: "REAL", nullable: false),
                    SetAt = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonName = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AgreementThresholds", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "FitDecisions",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    FitId = table.Column<string>(type: "TEXT", nullable: false),
                    SpotId = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<int>(type: "INTEGER", nullable: true),
                    PersonName = table.Column<string>(type: "TEXT", nullable: false),
                    Accepted = table.Column<bool>(type: "INTEGER", nullable: false),
                    Reason = table.Column<string>(type: "TEXT", nullable: false),
                    ReplacedFitId = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_FitDecisions", x => x.Id);
                    table.ForeignKey(
                        name: "FK_FitDecisions_Fits_FitId",
                        column: x => x.FitId,
                        principalTable: "Fits",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_FitDecisions_FitId",
                table: "FitDecisions",
                column: "FitId");

            migrationBuilder.CreateIndex(
                name: "IX_FitDecisions_SpotId_At",
                table: "FitDecisions",
                columns: new[] { "SpotId", "At" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AgreementThresholds");

            migrationBuilder.DropTable(
                name: "FitDecisions");

            migrationBuilder.DropColumn(
                name: "EmissivityFraction",
                table: "SpotChecks");

            migrationBuilder.DropColumn(
                name: "EnteredAt",
                table: "SpotChecks");

            migrationBuilder.DropColumn(
                name: "Ground",
                table: "SpotChecks");

            migrationBuilder.RenameColumn(
                name: "ShownCelsius",
                table: "SpotChecks",
                newName: "SurfaceCelsius");
        }
    }
}
