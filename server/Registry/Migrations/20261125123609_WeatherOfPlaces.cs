using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Registry.Migrations
{
    /// <inheritdoc />
    public partial class WeatherOfPlaces : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Weather",
                columns: table => new
                {
                    Site = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    IssuedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    AirCelsius = table.Column<double>(type: "REAL", nullable: true),
                    HumidityPercent = table.Column<double>(type: "REAL", nullable: true),
                    WindMetersPerSecond = table.Column<double>(type: "REAL", nullable: true),
                    SolarWattsPerSquareMeter = table.Column<double>(type: "REAL", nullable: true),
                    StoredAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Weather", x => new { x.Site, x.Kind, x.At });
                });

            migrationBuilder.CreateIndex(
                name: "IX_Weather_StoredAt",
                table: "Weather",
                column: "StoredAt");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "Weather");
        }
    }
}
