using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class ThermometersHaveAnAccuracy : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<double>(
                name: "ThermometerAccuracyKelvin",
                table: "AgreementThresholds",
                type: "REAL",
                nullable: false,
                defaultValue: 1.5);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "ThermometerAccuracyKelvin",
                table: "AgreementThresholds");
        }
    }
}
